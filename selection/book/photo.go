package book

import (
	"cmp"
	"context"
	"path/filepath"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// PhotoSums returns the SHA-256 sums, in hex, of all photos, by the size of their
// files in bytes.
func (b *Book) PhotoSums(ctx context.Context) (map[int64]map[string]bool, error) {
	sizes, err := sqlite.Pairs[string, int64](ctx, b.from, "SELECT sha256, bytes FROM photo")
	out := map[int64]map[string]bool{}
	for sum, size := range sizes {
		if out[size] == nil {
			out[size] = map[string]bool{}
		}
		out[size][sum] = true
	}
	return out, err
}

// NewestReading returns the reading that counts of the photo with that content
// (SHA-256 in hex), or ErrNotFound.
func (b *Book) NewestReading(ctx context.Context, sha256 string) (*Reading, error) {
	found, err := b.readings(ctx, " AND f.sha256 = ?", strings.ToLower(sha256))
	return record.One(found, err, "photo of content %.12s", sha256)
}

// PhotoBySHA returns the photo with that content (SHA-256 in hex), or
// ErrNotFound.
func (b *Book) PhotoBySHA(ctx context.Context, sha256 string) (*Photo, error) {
	found, err := record.Photos(ctx, b.from, "WHERE f.sha256 = ?", strings.ToLower(sha256))
	return record.One(found, err, "photo of content %.12s", sha256)
}

// Photos returns photos in natural order of season, plant and name; an empty
// season or plant chooses all.
func (b *Book) Photos(ctx context.Context, season, plant string) ([]Photo, error) {
	where, args := "WHERE 1", []any{}
	for _, c := range [2][2]string{{season, " AND s.key = ?"}, {plant, " AND p.key = ?"}} {
		if c[0] == "" {
			continue
		}
		clean, err := naming.CleanID(c[0])
		if err != nil {
			return nil, err
		}
		where, args = where+c[1], append(args, naming.Key(clean))
	}
	out, err := record.Photos(ctx, b.from, where, args...)
	slices.SortFunc(out, comparePhotos)
	return out, err
}

func comparePhotos(x, y Photo) int {
	return cmp.Or(selection.CompareIDs(x.Season, y.Season), selection.CompareIDs(x.Plant, y.Plant),
		selection.CompareIDs(x.Name, y.Name), cmp.Compare(x.ID, y.ID))
}

// PhotoFile returns where the photo's copy lies on disk; nowhere (empty) where its path
// leaves the book's folder of photos, as a received book's may.
func (b *Book) PhotoFile(p Photo) string {
	if _, err := naming.CheckPath(p.Path); err != nil {
		return ""
	}
	return filepath.Join(b.dir, filepath.FromSlash(p.Path))
}

// ReadingsOf returns the readings that count of the plants named, of all seasons.
func (b *Book) ReadingsOf(ctx context.Context, plants ...string) ([]Reading, error) {
	return b.readings(ctx, " AND p.key IN (SELECT value FROM json_each(?))", keyList(plants))
}

// Colors are the readings that count of a line and of other plants, of all seasons, without where in the photo and by which
// tag they were made.
func (b *Book) Colors(ctx context.Context, line string, others []string) ([]Reading, error) {
	return b.sorted(record.Colors(ctx, b.from, newestOnly+" AND (n.key = ? OR p.key IN (SELECT value FROM json_each(?)))",
		naming.LineKey(line), keyList(others)))
}

// PhotoNumber returns the photo of that number; ErrNotFound when there is none.
func (b *Book) PhotoNumber(ctx context.Context, id int64) (*Photo, error) {
	found, err := record.Photos(ctx, b.from, "WHERE f.id = ?", id)
	return record.One(found, err, "photo number %d", id)
}

// NewestPhotos are the photos that were added last, the newest first, with their
// newest readings; nil where one has none.
func (b *Book) NewestPhotos(ctx context.Context, limit int) ([]Photo, []*Reading, error) {
	list, err := record.Photos(ctx, b.from, "ORDER BY f.id DESC LIMIT ?", limit)
	if err != nil {
		return nil, nil, err
	}
	readings, err := record.Readings(ctx, b.from, `WHERE r.id IN (SELECT max(id) FROM reading WHERE photo_id IN
		(SELECT id FROM photo ORDER BY id DESC LIMIT ?) GROUP BY photo_id)`, limit)
	if err != nil {
		return nil, nil, err
	}
	of := map[int64]*Reading{}
	for i := range readings {
		of[readings[i].Photo.ID] = &readings[i]
	}
	out := make([]*Reading, len(list))
	for i := range list {
		out[i] = of[list[i].ID]
	}
	return list, out, nil
}
