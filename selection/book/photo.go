package book

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// PhotoSums returns the SHA-256 sums, in hex, of all photos, by the size of their files in bytes.
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

// NewestReading returns the newest reading, which counts, of the photo with that SHA-256 in hex, or ErrNotFound.
func (b *Book) NewestReading(ctx context.Context, sha256 string) (*Reading, error) {
	found, err := b.readings(ctx, " AND f.sha256 = ?", strings.ToLower(sha256))
	return record.One(found, err, "photo of content %.12s", sha256)
}

// PhotoBySHA returns the photo with that content (SHA-256 in hex), or ErrNotFound.
func (b *Book) PhotoBySHA(ctx context.Context, sha256 string) (*Photo, error) {
	found, err := record.Photos(ctx, b.from, "WHERE f.sha256 = ?", strings.ToLower(sha256))
	return record.One(found, err, "photo of content %.12s", sha256)
}

// Photos returns photos in natural order of season, plant and name; an empty season or plant chooses all.
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

// PhotoFile returns the path of the photo's copy on disk. It is empty if the path that the book holds
// leads out of its folder of photos, as it may in a book from somebody else.
func (b *Book) PhotoFile(p Photo) string {
	if _, err := naming.CheckPath(p.Path); err != nil {
		return ""
	}
	return filepath.Join(b.dir, filepath.FromSlash(p.Path))
}

// ReadingsOf returns the readings that count, of these plants, from all seasons.
func (b *Book) ReadingsOf(ctx context.Context, plants ...string) ([]Reading, error) {
	return b.readings(ctx, " AND p.key IN (SELECT value FROM json_each(?))", keyList(plants))
}

// Colors returns the readings that count, of a line and of other plants, from all seasons. Outlines, places in the photo
// and tags are left out, as decoding them takes most of the time.
func (b *Book) Colors(ctx context.Context, line string, others []string) ([]Reading, error) {
	return b.sorted(record.Colors(ctx, b.from, newestOnly+" AND (n.key = ? OR p.key IN (SELECT value FROM json_each(?)))",
		naming.LineKey(line), keyList(others)))
}

// PhotoNumber returns the photo of that number; ErrNotFound when there is none.
func (b *Book) PhotoNumber(ctx context.Context, id int64) (*Photo, error) {
	found, err := record.Photos(ctx, b.from, "WHERE f.id = ?", id)
	return record.One(found, err, "photo number %d", id)
}

// NewestPhotos returns the photos that were added last, the newest first, with their
// newest readings; a photo without one has a nil reading.
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

// Unassigned returns the photos without a plant, in natural order of season and name.
func (b *Book) Unassigned(ctx context.Context) ([]Photo, error) {
	all, err := b.Photos(ctx, "", "")
	return slices.DeleteFunc(all, func(p Photo) bool { return p.Plant != "" }), err
}

// FindPhoto returns the photo that typed stands for: its number ("#17" or "17"), its path in the book, or the file name
// that it came with. If several photos have that name and just one of them is without a plant, that one is meant.
// FindPhoto returns ErrNotFound, or an error that lists the numbers to choose from.
func (b *Book) FindPhoto(ctx context.Context, typed string) (*Photo, error) {
	typed = strings.TrimSpace(typed)
	if n, err := strconv.ParseInt(strings.TrimPrefix(typed, "#"), 10, 64); err == nil {
		if p, err := b.PhotoNumber(ctx, n); !errors.Is(err, ErrNotFound) {
			return p, err
		}
	}
	name := strings.ReplaceAll(typed, `\`, "/")
	found, err := record.Photos(ctx, b.from, "WHERE f.path = ?", path.Clean(name))
	if err == nil && len(found) == 0 {
		found, err = record.Photos(ctx, b.from, "WHERE lower(f.name) = lower(?) ORDER BY f.id", path.Base(name))
	}
	if free := slices.DeleteFunc(slices.Clone(found), func(p Photo) bool { return p.Plant != "" }); len(free) == 1 {
		found = free
	}
	if len(found) < 2 {
		return record.One(found, err, "photo %q", typed)
	}
	var numbers []string
	for _, p := range found {
		numbers = append(numbers, fmt.Sprintf("#%d", p.ID))
	}
	return nil, fmt.Errorf("photo %q: there are %d of that name; say which by its number: %s", typed, len(found), strings.Join(numbers, ", "))
}

// Assignee pairs a photo with the plant that it shows.
type Assignee struct {
	Photo int64
	Plant string
}

// AssignPhotos sets which plants photos show, for all of them or none. Their readings stay; nothing is measured
// again. New plants are added to the line, in the photo's season; the line may be empty if no plant is new. AssignPhotos
// returns the number of photos whose plant changed.
func (b *Book) AssignPhotos(ctx context.Context, line string, to ...Assignee) (changed int, err error) {
	err = b.Change(ctx, func(t *record.Tx) string {
		for _, a := range to {
			changed += b.assignPhoto(t, line, a)
		}
		if len(to) == 1 {
			return fmt.Sprintf("photo #%d shows %s", to[0].Photo, to[0].Plant)
		}
		return fmt.Sprintf("%d photos given their plants", changed)
	})
	return changed, err
}

func (b *Book) assignPhoto(t *record.Tx, line string, a Assignee) (changed int) {
	var season string
	if !t.Get("SELECT s.name FROM photo f JOIN season s ON s.id = f.season_id WHERE f.id = ?", a.Photo).Found(&season) {
		t.Failf("photo #%d: %w", a.Photo, ErrNotFound)
	}
	if t.Err() != nil {
		return 0
	}
	row, name, err := record.Find(context.Background(), t, "plant", a.Plant)
	switch {
	case err == nil && line != "":
		var of string
		t.Get("SELECT n.name FROM plant p JOIN line n ON n.id = p.line_id WHERE p.id = ?", row).Into(&of)
		if naming.Key(of) != naming.Key(line) {
			t.Failf("plant %q belongs to line %q, not %q", name, of, line)
		}
	case errors.Is(err, ErrNotFound) && line != "":
		row, _ = b.insertPlant(t, Plant{ID: t.FreeID(a.Plant), Line: line, Season: season})
	case errors.Is(err, ErrNotFound):
		t.Failf("%w; a new plant needs its line", err)
	default:
		t.Fail(err)
	}
	return int(t.Do("UPDATE photo SET plant_id = ?1 WHERE id = ?2 AND plant_id IS NOT ?1", row, a.Photo))
}

// RemovePhotos removes photos and their readings from the book, all of them or none. Their files stay in the book's
// folder, so that [Book.Undo] works. It returns ErrNotFound for a photo that is not in the book.
func (b *Book) RemovePhotos(ctx context.Context, photos ...int64) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var names []string
		for i, id := range photos {
			if slices.Contains(photos[:i], id) {
				continue
			}
			names = append(names, t.Photo(id))
			for _, r := range record.All[int64](t, "SELECT id FROM reading WHERE photo_id = ? ORDER BY id", id) {
				t.Remove("reading", r, r)
			}
			t.Remove("photo", id, id)
		}
		return "taken out: photo " + nameList(names)
	})
}

// UnassignPhotos removes the plants of photos, which then are not known.
func (b *Book) UnassignPhotos(ctx context.Context, photos ...int64) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var names []string
		for _, id := range photos {
			names = append(names, t.Photo(id))
			t.Do("UPDATE photo SET plant_id = NULL WHERE id = ? AND plant_id IS NOT NULL", id)
		}
		return "of no plant: photo " + nameList(names)
	})
}
