package transfer

import (
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/disk"
)

// photoFiles are the files of the photos that are imported.
type photoFiles struct {
	received map[string]*disk.Incoming // by SHA-256
	placed   []*disk.Placed
	copied   int
	missing  int
}

func (f *photoFiles) discard() {
	for _, in := range f.received {
		in.Discard() // no-op once it is in its place
	}
}

// receivePhotos copies the files that came along and that the book does not have
// yet, before the book is locked: this may take long.
func (im *importer) receivePhotos() error {
	im.files.received = map[string]*disk.Incoming{}
	if im.opt.DryRun || len(im.problems) > 0 {
		return nil
	}
	for _, s := range im.sources {
		if s.kind != photoKind {
			continue
		}
		for _, r := range s.rows {
			sum := r.name()
			rel, ok := r.value("path").(string)
			if !ok {
				continue // told later
			}
			file := filepath.Join(filepath.Dir(s.File), filepath.FromSlash(rel))
			if free, err := disk.Free(file); err != nil {
				return fmt.Errorf("copy photo %q: %w", file, err)
			} else if free {
				continue
			}
			if _, err := im.b.PhotoBySHA(im.ctx, sum); !errors.Is(err, book.ErrNotFound) {
				if err != nil {
					return err
				}
				continue
			}
			if disk.Holds(im.b.PhotoFile(book.Photo{Path: rel}), sizeOf(file), sum) {
				continue
			}
			in, err := disk.Receive(im.ctx, file, im.b.IncomingDir())
			if err != nil {
				return fmt.Errorf("copy photo %q: %w", file, err)
			}
			im.files.received[in.SHA256] = in
			if in.SHA256 != sum {
				im.fail(r, "sha256", "is not that of the file %q, which was changed; export the book again", rel)
			}
		}
	}
	return nil
}

func sizeOf(file string) int64 {
	info, err := disk.Stat(file)
	if err != nil {
		return -1
	}
	return info.Size()
}

// placePhoto moves a new photo's file to its place and settles its path, which
// may be another photo's already.
func (im *importer) placePhoto(r *importRow) error {
	if err := im.loadPaths(); err != nil {
		return err
	}
	rel := r.value("path").(string)
	in := im.files.received[r.name()]
	size, _ := r.whole("bytes")
	ext := path.Ext(rel)
	stem := strings.TrimSuffix(rel, ext)
	for i := 2; ; i++ {
		file := im.b.PhotoFile(book.Photo{Path: rel})
		free, err := disk.Free(file)
		if err != nil {
			return err
		}
		there := !free
		switch {
		case im.paths[rel]:
		case there && disk.Holds(file, size, r.name()):
			im.keepPath(r, rel)
			return nil
		case there:
		case in == nil:
			im.files.missing++
			im.keepPath(r, rel)
			return nil
		default:
			p, err := in.MoveTo(file)
			if err != nil {
				return err
			}
			im.files.placed = append(im.files.placed, p)
			im.files.copied++
			im.keepPath(r, rel)
			return nil
		}
		rel = fmt.Sprintf("%s-%d%s", stem, i, ext)
	}
}

func (im *importer) keepPath(r *importRow, rel string) {
	im.paths[rel] = true
	r.set("path", rel)
}

func (im *importer) loadPaths() error {
	if im.paths != nil {
		return nil
	}
	im.paths = map[string]bool{}
	rows, err := im.tx.Query("SELECT path FROM photo")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return err
		}
		im.paths[s] = true
	}
	return rows.Err()
}

// undoPhotos takes away the files that were put in their places.
func (im *importer) undoPhotos() {
	for i := len(im.files.placed) - 1; i >= 0; i-- {
		im.files.placed[i].Undo()
	}
}
