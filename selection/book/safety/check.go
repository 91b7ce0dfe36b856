package safety

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
)

// Finding is one thing that [Check] noticed.
type Finding struct {
	Where   string // a table, plant or file of the book
	What    string
	Do      string // what to do about it
	Harmful bool   // false: untidy, and nothing is lost
	Remedy  remedy.Remedy
}

// CheckOptions says how much [Check] looks at.
type CheckOptions struct {
	Quick bool // leave the content of photos and backups out
	// Progress is called with the photos looked at so far and in all, never twice at once; nil: not at all.
	Progress func(done, of int)
}

// Check looks at the whole book and changes nothing: whether SQLite finds the database sound and every row names rows
// that are there; whether each photo's file is there with its content; files that no row names; plants that are their
// own ancestors, or of a season before a parent's; photos dated before their plant; names and days that are not as they
// were entered; scores outside their scale; and whether the newest backup opens.
func Check(ctx context.Context, b *book.Book, opt *CheckOptions) ([]Finding, error) {
	opt = cmp.Or(opt, &CheckOptions{})
	found, err := b.Integrity(ctx)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for _, s := range found {
		out = append(out, Finding{book.DBName, s, "put back a backup", true, remedy.Step(remedy.Restore)})
	}
	for _, look := range []func(context.Context, *book.Book, *CheckOptions) ([]Finding, error){checkPhotos, checkOrphans, checkRows,
		checkPedigree, checkDates, checkScores, checkBackups} {
		more, err := look(ctx, b, opt)
		if err != nil {
			return nil, err
		}
		out = append(out, more...)
	}
	return out, nil
}

// checkPhotos compares the photos' files with their sums, on all processors.
func checkPhotos(ctx context.Context, b *book.Book, opt *CheckOptions) ([]Finding, error) {
	all, err := b.Photos(ctx, "", "")
	if err != nil {
		return nil, err
	}
	bad := make([]*Finding, len(all))
	var mu sync.Mutex
	done := 0
	var workers errgroup.Group
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i := range all {
		workers.Go(func() error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			bad[i] = checkPhoto(b, all[i], opt.Quick)
			mu.Lock()
			defer mu.Unlock()
			if done++; opt.Progress != nil {
				opt.Progress(done, len(all))
			}
			return nil
		})
	}
	err = workers.Wait()
	var out []Finding
	for _, f := range bad {
		if f != nil {
			out = append(out, *f)
		}
	}
	return out, err
}

func checkPhoto(b *book.Book, p book.Photo, quick bool) *Finding {
	file := b.PhotoFile(p)
	bad := func(what, do string) *Finding { return &Finding{p.Path, what, do, true, remedy.Remedy{}} }
	unreadable := func(err error) *Finding {
		return bad("the photo cannot be read: "+err.Error(), "see who owns it; the disk may be failing: copy the book elsewhere")
	}
	if file == "" {
		return bad("the photo's place is not in the book's folder", "do not use a book from someone you do not trust")
	}
	switch info, err := disk.Stat(file); {
	case errors.Is(err, fs.ErrNotExist):
		return bad("the photo is not there; its readings are", "put it back from a copy, or go without")
	case err != nil:
		return unreadable(err)
	case info.Size() != p.Bytes:
		return bad(fmt.Sprintf("the photo has changed: %d bytes, not %d", info.Size(), p.Bytes), "put it back from a copy")
	case quick:
		return nil
	}
	switch sum, err := disk.Sum(file); {
	case err != nil:
		return unreadable(err)
	case sum != p.SHA256:
		return bad("the photo has changed since it was copied in", "put it back from a copy")
	}
	return nil
}

// checkOrphans looks for files among the photos that no row names. An interrupted
// run may leave one; measuring the same photo again takes it over.
func checkOrphans(ctx context.Context, b *book.Book, _ *CheckOptions) ([]Finding, error) {
	all, err := b.Photos(ctx, "", "")
	if err != nil {
		return nil, err
	}
	known := map[string]bool{}
	for _, p := range all {
		known[p.Path] = true
	}
	var out []Finding
	err = filepath.WalkDir(filepath.Join(b.Dir(), naming.PhotosFolder), func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(b.Dir(), file)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		switch {
		case known[rel]:
		case filepath.Dir(file) == b.IncomingDir():
			out = append(out, Finding{rel, "a copy that was not finished", "nothing: it is cleared a day later", false, remedy.Remedy{}})
		default:
			out = append(out, Finding{rel, "not a photo of this book", "measure the photo again, which takes it over, or remove it", false,
				remedy.Remedy{}})
		}
		return nil
	})
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return out, err
}

func checkPedigree(ctx context.Context, b *book.Book, _ *CheckOptions) ([]Finding, error) {
	list, err := b.Pedigree(ctx)
	if err != nil {
		return nil, err
	}
	gen := genetics.Generations(list)
	var out []Finding
	for _, p := range list {
		if gen[p.ID] == "" {
			out = append(out, Finding{"plant " + p.ID, "is its own ancestor, or descends from one that is", "correct its parents", true,
				remedy.Step(remedy.FixParents, p.ID)})
		}
	}
	plants, err := b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return nil, err
	}
	season := make(map[string]string, len(plants))
	for _, p := range plants {
		season[p.ID] = p.Season
	}
	for _, p := range list {
		for _, parent := range [2]string{p.Seed, p.Pollen} {
			if parent != "" && genetics.Before(season[p.ID], season[parent]) {
				out = append(out, Finding{"plant " + p.ID, fmt.Sprintf("is of season %s, before that of its parent %s, %s", season[p.ID], parent,
					season[parent]),
					"correct its season or its parents", true, remedy.Step(remedy.FixParents, p.ID)})
			}
		}
	}
	return out, nil
}

// checkDates looks for photos of a season before their plant's, or taken before it was sown.
func checkDates(ctx context.Context, b *book.Book, _ *CheckOptions) ([]Finding, error) {
	type photo struct{ plant, season, own, taken, sown string }
	var all []photo
	err := b.Snapshot(ctx, func(c *sql.Conn) (err error) {
		all, err = sqlite.Collect(ctx, c, `SELECT p.name, s.name, o.name, substr(coalesce(f.taken_at, ''), 1, 10),
				substr(coalesce(w.sown_on, ''), 1, 10)
			FROM photo f JOIN plant p ON p.id = f.plant_id JOIN season s ON s.id = f.season_id JOIN season o ON o.id = p.season_id
			LEFT JOIN sowing w ON w.id = p.sowing_id
			WHERE f.season_id <> p.season_id OR substr(f.taken_at, 1, 10) < substr(w.sown_on, 1, 10) ORDER BY p.id, f.id`, nil,
			func(rows *sql.Rows, f *photo) error { return rows.Scan(&f.plant, &f.season, &f.own, &f.taken, &f.sown) })
		return err
	})
	var out []Finding
	seen := map[[2]string]bool{}
	for _, f := range all {
		what := ""
		switch {
		case seen[[2]string{f.plant, f.season}]:
			continue
		case genetics.Before(f.season, f.own):
			what = fmt.Sprintf("has photos of season %s, before its own, %s; they count in season %s", f.season, f.own, f.season)
		case f.taken != "" && f.taken < f.sown:
			what = fmt.Sprintf("has a photo of %s, before it was sown, on %s; it counts in season %s", f.taken, f.sown, f.season)
		default:
			continue
		}
		seen[[2]string{f.plant, f.season}] = true
		out = append(out, Finding{"plant " + f.plant, what, "see whether the camera's clock was wrong, or the photo shows another plant", false,
			remedy.Step(remedy.FixPhotos, f.plant)})
	}
	return out, err
}

func checkScores(ctx context.Context, b *book.Book, _ *CheckOptions) (out []Finding, err error) {
	err = b.Snapshot(ctx, func(c *sql.Conn) error {
		out, err = sqlite.Collect(ctx, c, `SELECT p.name, t.name, x.value FROM score x JOIN plant p ON p.id = x.plant_id
			JOIN trait t ON t.id = x.trait_id WHERE x.value < t.low OR x.value > t.high ORDER BY x.id`, nil, func(rows *sql.Rows, f *Finding) error {
			var plant, trait string
			var value float64
			err := rows.Scan(&plant, &trait, &value)
			*f = Finding{"plant " + plant, fmt.Sprintf("its %s, %g, lies outside the scale", trait, value),
				"score it again, or widen the scale", true, remedy.Step(remedy.SayTrait, trait)}
			return err
		})
		return err
	})
	return out, err
}

// checkBackups opens the newest, and finds what interrupted runs left.
func checkBackups(ctx context.Context, b *book.Book, opt *CheckOptions) ([]Finding, error) {
	var out []Finding
	for _, pattern := range []string{filepath.Join(book.BackupsFolder, sqlite.HalfPrefix+"*"), book.DBName + ".new*"} {
		left, err := filepath.Glob(filepath.Join(b.Dir(), pattern))
		if err != nil {
			return nil, err
		}
		for _, file := range left {
			rel, _ := filepath.Rel(b.Dir(), file)
			do := "nothing: the next backup that is made a day later or more clears it"
			if !strings.HasPrefix(rel, book.BackupsFolder) {
				do = "nothing: the next restore clears it"
			}
			out = append(out, Finding{filepath.ToSlash(rel), "a copy that was not finished", do, false, remedy.Remedy{}})
		}
	}
	all, err := Backups(b)
	if err != nil || opt.Quick {
		return out, err
	}
	// What was set aside may be damaged.
	i := slices.IndexFunc(all, func(f BackupFile) bool { return !strings.HasPrefix(f.Name, "before-restore-") })
	if i < 0 {
		return out, nil
	}
	if err := sqlite.Verify(ctx, filepath.Join(b.Dir(), book.BackupsFolder, all[i].Name)); err != nil {
		out = append(out, Finding{book.BackupsFolder + "/" + all[i].Name, err.Error(), "make a new one", true, remedy.Step(remedy.BackUp)})
	}
	return out, nil
}

// checkRows finds what SQLite does not: a name that is not found by its key any more, a day
// that is none, a plant that is a tuber or cutting of itself. A bit that flipped does that.
func checkRows(ctx context.Context, b *book.Book, _ *CheckOptions) (out []Finding, err error) {
	add := func(where, what string, args ...any) {
		out = append(out, Finding{where, fmt.Sprintf(what, args...), "put back a backup, or correct it", true, remedy.Step(remedy.Restore)})
	}
	err = b.Snapshot(ctx, func(c *sql.Conn) error {
		each := func(query string, f func(a, b string)) error {
			pairs, err := sqlite.Collect(ctx, c, query, nil, func(rows *sql.Rows, p *[2]sql.NullString) error { return rows.Scan(&p[0], &p[1]) })
			for _, p := range pairs {
				f(p[0].String, p[1].String)
			}
			return err
		}
		var columns [][2]string
		// The tables are those of a book: that was seen when it was opened.
		if err := each(`SELECT m.name, t.name FROM sqlite_schema m, pragma_table_info(m.name) t WHERE m.type = 'table' AND m.name <> 'change'
			AND (t.name = 'key' AND EXISTS (SELECT 1 FROM pragma_table_info(m.name) WHERE name = 'name')
				OR t.name LIKE '%\_on' ESCAPE '\' OR t.name IN ('day', 'good_until')) ORDER BY t.name <> 'key'`, func(table, column string) {
			columns = append(columns, [2]string{table, column})
		}); err != nil {
			return err
		}
		for _, t := range columns {
			what, column := strings.ReplaceAll(t[0], "_", " "), strings.ReplaceAll(t[1], "_", " ")
			query := fmt.Sprintf("SELECT name, key FROM %q", t[0])
			if column != "key" {
				query = fmt.Sprintf("SELECT id, %[2]q FROM %[1]q WHERE %[2]q IS NOT NULL", t[0], t[1])
			}
			if err := each(query, func(row, v string) {
				if column == "key" && naming.Key(row) != v {
					add(what+" "+row, "is not found by its name, but by %q", v)
				} else if _, err := time.Parse(time.DateOnly, v); column != "key" && err != nil {
					add(what+" "+row, "its %s, %q, is not a day", column, v)
				}
			}); err != nil {
				return err
			}
		}
		return each(`SELECT p.name, r.name FROM plant p JOIN plant r ON r.id = p.clone_of_id WHERE r.clone_of_id IS NOT NULL`,
			func(name, of string) {
				add("plant "+name, "has the genes of %s, which has those of another itself", of)
			})
	})
	return out, err
}
