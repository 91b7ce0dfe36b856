package page

import (
	"archive/zip"
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hueward/report"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/report/workbook"
	"hueward/selection/book/naming"
	"hueward/selection/book/safety"
	"hueward/selection/book/transfer"
)

// keepBackups is how many backups stay in the book's folder.
const keepBackups = 10

// keep offers backups, exports and the report.
func (q *request) keep() error {
	list, err := safety.Backups(q.b)
	if err != nil {
		return err
	}
	return q.render("keep", "Keep and share", list)
}

// backup copies the book into its folder of backups, verified.
func (q *request) backup() error {
	name, err := safety.Backup(q.ctx(), q.b, "")
	if err != nil {
		return err
	}
	removed, err := safety.Rotate(q.b, keepBackups, name)
	if err != nil {
		return err
	}
	text := filepath.Base(name) + " is made and verified."
	if len(removed) > 0 {
		text += " " + words.Count(len(removed), "older backup") + " removed."
	}
	q.mention("%s", text)
	return q.to("/keep")
}

// download sends the book's tables or the line's report as a file. No photo goes with
// the tables, and the report's pictures are made of pixels alone.
func (q *request) download() error {
	files := map[string]do{"book.zip": (*request).exportZip, "book.xlsx": (*request).exportWorkbook, "report.html": (*request).report}
	if send := files[q.r.PathValue("file")]; send != nil {
		return send(q)
	}
	return notFound("There is no such file.")
}

func (q *request) exportZip() error {
	dir, err := os.MkdirTemp("", "hueward-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	done, err := transfer.ExportDir(q.ctx(), q.b, filepath.Join(dir, "book"), false, false)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range done.Files {
		if !filepath.IsAbs(f) {
			f = filepath.Join(dir, "book", f)
		}
		text, err := os.ReadFile(f)
		if err != nil {
			return err
		}
		w, err := z.Create(filepath.Base(f))
		if err == nil {
			_, err = w.Write(text)
		}
		if err != nil {
			return err
		}
	}
	if err := z.Close(); err != nil {
		return err
	}
	return q.attach("application/zip", "book.zip", out.Bytes())
}

func (q *request) exportWorkbook() error {
	w := workbook.New()
	defer w.Close()
	err := transfer.Export(q.ctx(), q.b, func(t transfer.Table) error {
		_, err := w.Add(t)
		return err
	})
	var out bytes.Buffer
	if err == nil {
		err = w.Write(&out)
	}
	if err != nil {
		return err
	}
	return q.attach("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "book.xlsx", out.Bytes())
}

// report writes the line's season as one file. It is asked for seldom, and holds every photo: it is not kept.
func (q *request) report() error {
	line, season, err := q.aimed()
	if err != nil {
		return err
	}
	r, err := q.ranking(q.ctx(), line.Name, season)
	if err != nil {
		return err
	}
	s, err := q.ahead(q.ctx(), line.Name, season)
	if err != nil {
		return err
	}
	whole := *s
	whole.Plants = slices.Clone(s.Plants)
	for i := range whole.Plants { // the note may be newer than the ranking
		p, err := q.b.Plant(q.ctx(), whole.Plants[i].ID)
		if err != nil {
			return err
		}
		whole.Plants[i].Note = p.Note
	}
	if err := compose.Pictures(context.WithoutCancel(q.ctx()), q.b, r.Season, &whole, func(string, ...any) {}); err != nil {
		return err
	}
	var out bytes.Buffer
	if err := report.Write(&out, &whole); err != nil {
		return err
	}
	name := strings.TrimSuffix(naming.SafeName("report-"+line.Name+"-"+r.Season.Season), ".") + ".html"
	return q.attach("text/html; charset=utf-8", strings.ReplaceAll(strings.ToLower(name), " ", "-"), out.Bytes())
}
