package book

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// InstrumentReading is a plant's colour measured without a photo.
type InstrumentReading struct {
	Plant  string // id; must be in the book
	Season string
	Source string // the instrument; not empty, not "photo"
	Lab    cie.Lab
	SE     float64   // standard error, Delta E; 0: not known
	At     time.Time // zero: now
}

// InsertReading adds a reading of a photo within a transaction.
func (b *Book) InsertReading(t *record.Tx, photo int64, r *colorimg.Reading) {
	t.NoteAdded("reading", t.AddReading(photo, r, b.Stamp()))
}

// AddInstrumentReading stores a reading that has no photo.
func (b *Book) AddInstrumentReading(ctx context.Context, r InstrumentReading) error {
	if r.Source == "" || r.Source == record.PhotoSource {
		return fmt.Errorf("reading of plant %q: source %q; name the instrument", r.Plant, r.Source)
	}
	if !record.Finite(r.Lab.L, r.Lab.A, r.Lab.B, r.SE) || !(r.SE >= 0 && r.SE <= selection.MaxError) {
		return fmt.Errorf("reading of plant %q: L* %v, a* %v, b* %v, error %v; give ordinary numbers", r.Plant, r.Lab.L, r.Lab.A, r.Lab.B, r.SE)
	}
	if r.At.IsZero() {
		r.At = b.now()
	}
	return b.Change(ctx, func(t *record.Tx) string {
		id := t.Add("reading", "plant_id, season_id, source, method, status, l, a, b, precision_de, trueness_de, measured_at",
			t.Plant(r.Plant), t.Season(r.Season), r.Source, 0, "ok", r.Lab.L, r.Lab.A, r.Lab.B, r.SE, r.SE, r.At.UTC().Format(time.RFC3339))
		t.NoteAdded("reading", id)
		return fmt.Sprintf("%s measured by %s", r.Plant, r.Source)
	})
}

// Readings returns the newest reading of every photo of the line's plants in the season, and the readings by
// instruments, including refused ones, in natural order of plant and then photo. An empty line or season stands for
// all; with an empty line, photos without a plant are included.
func (b *Book) Readings(ctx context.Context, line, season string) ([]Reading, error) {
	where, args, err := readingsOf(line, season)
	if err != nil {
		return nil, err
	}
	return b.readings(ctx, where, args...)
}

// HasReadings reports whether [Book.Readings] has any, without reading them.
func (b *Book) HasReadings(ctx context.Context, line, season string) (bool, error) {
	where, args, err := readingsOf(line, season)
	if err != nil {
		return false, err
	}
	return record.AnyReading(ctx, b.from, newestOnly+where, args...)
}

// readingsOf returns the SQL condition for readings of a line and a season; an empty one stands for all.
func readingsOf(line, season string) (where string, args []any, err error) {
	if line != "" {
		where, args = where+" AND n.key = ?", append(args, naming.LineKey(line))
	}
	if season != "" {
		clean, err := naming.CleanID(season)
		if err != nil {
			return "", nil, fmt.Errorf("season: %w", err)
		}
		where, args = where+" AND s.key = ?", append(args, naming.Key(clean))
	}
	return where, args, nil
}

// newestOnly is the SQL condition for readings that no later one of the same photo has replaced.
const newestOnly = "WHERE (r.photo_id IS NULL OR r.id = (SELECT max(id) FROM reading WHERE photo_id = r.photo_id))"

func (b *Book) readings(ctx context.Context, where string, args ...any) ([]Reading, error) {
	return b.sorted(record.Readings(ctx, b.from, newestOnly+where, args...))
}

func (b *Book) sorted(out []Reading, err error) ([]Reading, error) {
	if err != nil {
		return nil, err
	}
	slices.SortFunc(out, func(x, y Reading) int {
		return cmp.Or(selection.CompareIDs(x.Plant, y.Plant), selection.CompareIDs(x.Season, y.Season),
			selection.CompareIDs(x.Label(), y.Label()), cmp.Compare(x.ID, y.ID))
	})
	return out, nil
}
