package transfer

import (
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/record"
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

// placePhoto moves a new photo's file to its place and settles its path, which may be another photo's already.
func (im *importer) placePhoto(r *importRow) {
	if im.paths == nil {
		im.paths = map[string]bool{}
		for _, p := range record.All[string](im.tx, "SELECT path FROM photo") {
			im.paths[p] = true
		}
	}
	rel := r.value("path").(string)
	in := im.files.received[r.name()]
	size, _ := r.whole("bytes")
	ext := path.Ext(rel)
	stem := strings.TrimSuffix(rel, ext)
	for i := 2; im.tx.Err() == nil; i++ {
		file := im.b.PhotoFile(book.Photo{Path: rel})
		free, err := disk.Free(file)
		im.tx.Fail(err)
		if !im.paths[rel] && err == nil && (free || disk.Holds(file, size, r.name())) {
			im.paths[rel] = true
			r.set("path", rel)
			switch {
			case !free:
			case in == nil:
				im.files.missing++
			default:
				p, err := in.MoveTo(file)
				im.tx.Fail(err)
				im.files.placed = append(im.files.placed, p)
				im.files.copied++
			}
			return
		}
		rel = fmt.Sprintf("%s-%d%s", stem, i, ext)
	}
}

// undoPhotos takes away the files that were put in their places.
func (im *importer) undoPhotos() {
	for _, p := range slices.Backward(im.files.placed) {
		p.Undo()
	}
}
