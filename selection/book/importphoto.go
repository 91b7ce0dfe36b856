package book

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"hueward/selection/book/exchange"
)

// cleanPhotoPath checks that a photo's path stays in the book's folder of photos,
// on every system.
func cleanPhotoPath(s string) (string, error) {
	bad := fmt.Errorf("%s is no place for a photo; want one such as photos/2026/M-07/IMG_0412.jpg", exchange.Quote(s))
	parts := strings.Split(s, "/")
	if len(parts) < 2 || parts[0] != photosName || !fs.ValidPath(s) {
		return "", bad
	}
	for _, p := range parts {
		if p[0] == '.' || strings.ContainsAny(p, `\<>:"|?*`) || strings.ContainsFunc(p, unicode.IsControl) ||
			strings.TrimRight(p, ". ") != p || notReserved(p) != p || len(p) > 255 {
			return "", bad
		}
	}
	return s, nil
}

// knownFolders remembers which folders there are, so that many files in those that
// there are not are not looked for one by one.
type knownFolders map[string]bool

// has reports whether the file is there.
func (f knownFolders) has(file string) bool {
	dir := filepath.Dir(file)
	there, known := f[dir]
	if !known {
		_, err := os.Stat(dir)
		there = !errors.Is(err, fs.ErrNotExist)
		f[dir] = there
	}
	if !there {
		return false
	}
	_, err := os.Lstat(file)
	return err == nil
}

// photoFiles are the files of the photos that are imported.
type photoFiles struct {
	folders  knownFolders
	received map[string]*incoming // by SHA-256
	placed   []*placed
	copied   int
	missing  int
}

func (f *photoFiles) discard() {
	for _, in := range f.received {
		in.discard() // no-op once it is in its place
	}
}

// receivePhotos copies the files that came along and that the book does not have
// yet, before the book is locked: this may take long.
func (im *importer) receivePhotos() error {
	im.files.received, im.files.folders = map[string]*incoming{}, knownFolders{}
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
			if !im.files.folders.has(file) {
				continue
			}
			if _, err := im.b.PhotoBySHA(im.ctx, sum); !errors.Is(err, ErrNotFound) {
				if err != nil {
					return err
				}
				continue
			}
			if sameContent(im.b.PhotoFile(Photo{Path: rel}), &incoming{sha256: sum, bytes: sizeOf(file)}) {
				continue
			}
			in, err := im.b.receive(im.ctx, file)
			if err != nil {
				return fmt.Errorf("copy photo %q: %w", file, err)
			}
			im.files.received[in.sha256] = in
			if in.sha256 != sum {
				im.fail(r, "sha256", "is not that of the file %q, which was changed; export the book again", rel)
			}
		}
	}
	return nil
}

func sizeOf(file string) int64 {
	info, err := os.Stat(file)
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
		file := im.b.PhotoFile(Photo{Path: rel})
		there := im.files.folders.has(file)
		switch {
		case im.paths[rel]:
		case there && sameContent(file, &incoming{sha256: r.name(), bytes: size}):
			im.keepPath(r, rel)
			return nil
		case there:
		case in == nil:
			im.files.missing++
			im.keepPath(r, rel)
			return nil
		default:
			p := &placed{path: rel, file: file}
			im.files.placed = append(im.files.placed, p)
			var err error
			if p.made, err = makeDirs(filepath.Dir(file), nil); err != nil {
				return err
			}
			im.files.folders[filepath.Dir(file)] = true
			if err := os.Rename(in.temp, file); err != nil {
				return err
			}
			os.Chtimes(file, time.Time{}, in.time) // a courtesy; the book does not rely on it
			syncDir(filepath.Dir(file))
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
		im.files.placed[i].undo()
	}
}
