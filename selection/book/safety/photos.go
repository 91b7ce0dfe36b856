package safety

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
)

// CopyPhotos copies the book's photos into a folder elsewhere, under the paths that
// they have in the book; those that are there with the same size and time are left.
// It returns how many it copied and how many there are. Each is there whole or not
// at all, so it can be repeated after it was stopped.
func CopyPhotos(ctx context.Context, b *book.Book, dir string) (copied, all int, err error) {
	list, err := b.Photos(ctx, "", "")
	if err != nil {
		return 0, 0, err
	}
	for _, p := range list {
		if err := ctx.Err(); err != nil {
			return copied, len(list), err
		}
		from := b.PhotoFile(p)
		to := filepath.Join(dir, filepath.FromSlash(strings.TrimPrefix(p.Path, naming.PhotosFolder+"/")))
		source, err := os.Stat(from)
		if err != nil {
			return copied, len(list), remedy.Step(remedy.Check).Errorf("copy photo %s: %w; look at the whole book", p.Path, err)
		}
		if there, err := os.Stat(to); err == nil && there.Size() == source.Size() && !there.ModTime().Before(source.ModTime().Truncate(2e9)) {
			continue // file systems of sticks keep times to two seconds
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o777); err != nil {
			return copied, len(list), fmt.Errorf("copy photo %s: %w", p.Path, disk.Full(err))
		}
		half := to + ".new"
		os.Remove(half) // of a run that was stopped
		whole, err := disk.CopyWhole(ctx, from, half, p.SHA256)
		if err != nil {
			os.Remove(half)
			return copied, len(list), fmt.Errorf("copy photo %s: %w", p.Path, disk.Full(err))
		}
		if !whole {
			return copied, len(list), remedy.Step(remedy.Check).Errorf("copy photo %s: it has changed since it was copied in; look at the "+
				"whole book", p.Path)
		}
		if err := os.Rename(half, to); err != nil {
			return copied, len(list), fmt.Errorf("copy photo %s: %w", p.Path, err)
		}
		copied++
	}
	return copied, len(list), nil
}
