package safety

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
)

// CopiedPhotos is what [CopyPhotos] did.
type CopiedPhotos struct {
	All, Copied int        // photos of the book, and those that were not there yet
	Bad         []BadPhoto // those that are not in the copy
}

// BadPhoto is a photo that could not be copied, by its path in the book, and why.
type BadPhoto struct {
	Path string
	Err  error
}

// CopyPhotos copies the book's photos into a folder elsewhere, under the paths that
// they have in the book; those that are there with the same content are left. What it
// wrote it reads again. It goes on past a photo that is missing or damaged. Each is
// there whole or not at all, so it can be repeated. The error is one that would
// meet every photo, such as a full disk.
func CopyPhotos(ctx context.Context, b *book.Book, dir string) (*CopiedPhotos, error) {
	list, err := b.Photos(ctx, "", "")
	if err != nil {
		return nil, err
	}
	out := &CopiedPhotos{All: len(list)}
	if err := disk.MkdirAll(dir, 0o777); err != nil {
		return out, err
	}
	for _, p := range list {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		copied, err := copyOut(ctx, b, p, dir)
		if errors.Is(err, context.Canceled) || disk.InTrouble(err) {
			return out, fmt.Errorf("copy photo %s: %w", p.Path, err)
		}
		if err != nil {
			out.Bad = append(out.Bad, BadPhoto{p.Path, err})
		}
		if copied {
			out.Copied++
		}
	}
	return out, nil
}

// copyOut copies one photo; copied is false where it is there already.
func copyOut(ctx context.Context, b *book.Book, p book.Photo, dir string) (copied bool, err error) {
	if _, err := naming.CheckPath(p.Path); err != nil {
		return false, err
	}
	to := filepath.Join(dir, filepath.FromSlash(strings.TrimPrefix(p.Path, naming.PhotosFolder+"/")))
	if holds(to, p.SHA256) {
		return false, nil
	}
	if err := disk.MkdirAll(filepath.Dir(to), 0o777); err != nil {
		return false, err
	}
	half := to + ".new"
	disk.Remove(half) // of a run that was stopped
	defer disk.Remove(half)
	whole, err := disk.CopyWhole(ctx, b.PhotoFile(p), half, p.SHA256)
	switch {
	case err != nil:
		return false, err
	case !whole:
		return false, errors.New("it is missing, or has changed since it was copied in")
	case !holds(half, p.SHA256):
		return false, errors.New("what was written is not what is read back; the disk may be failing")
	}
	err = disk.Rename(half, to)
	return err == nil, err
}

// holds reports whether the file has that sum.
func holds(file, sha256 string) bool {
	sum, err := disk.Sum(file)
	return err == nil && sum == sha256
}
