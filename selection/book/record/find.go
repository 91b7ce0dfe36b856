package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/sqlite"
)

// Errors that callers test for with [errors.Is].
var (
	ErrNotFound  = errors.New("not in the book")     // no such line, season, plant or photo
	ErrDuplicate = errors.New("already in the book") // the name is taken
)

// Find returns the row and the full name of a typed plant, cross, head, packet, sowing or stored pollen, which
// table says. Case does not matter, and the check letter may be left out. The error wraps ErrNotFound, and also
// [naming.ErrMistyped] if a wrong letter is the likely cause.
func Find(ctx context.Context, q sqlite.Querier, table, typed string) (row int64, name string, err error) {
	// try looks for exactly this name; over means that it was found, or that the query failed.
	try := func(exact string) (over bool) {
		err = q.QueryRowContext(ctx, fmt.Sprintf("SELECT id, name FROM %q WHERE key = ?", table), naming.Key(exact)).Scan(&row, &name)
		return !errors.Is(err, sql.ErrNoRows)
	}
	clean, bad := naming.CleanID(typed)
	if bad != nil {
		// A name that was accepted before the rules became stricter is still found.
		if try(strings.TrimSpace(typed)) && err == nil {
			return row, name, nil
		}
		return 0, "", fmt.Errorf("%s: %w", table, bad)
	}
	if try(clean) {
		return row, name, err
	}
	upper := strings.ToUpper(clean)
	if table == "head" {
		// In a head's name, the plant's check letter may be left out.
		if i := strings.LastIndexByte(upper, '-'); i > 0 {
			if _, plant, err := Find(ctx, q, "plant", upper[:i]); err == nil {
				if try(plant + upper[i:]) {
					return row, name, err
				}
			}
		}
		return 0, "", fmt.Errorf("head %q: %w", typed, ErrNotFound)
	}
	if m := naming.Made().FindStringSubmatch(upper); m != nil {
		fits := string(naming.CheckLetter(strings.TrimSuffix(upper, m[4])))
		if m[4] == "" {
			if try(upper + fits) {
				return row, name, err
			}
		} else if m[4] != fits {
			return 0, "", fmt.Errorf("%s %q: %w (%w)", table, typed, ErrNotFound, naming.ErrMistyped)
		}
	}
	return 0, "", fmt.Errorf("%s %q: %w", table, typed, ErrNotFound)
}

// NextNames returns the next n free names of the season. prefix is "" for plants, else X, P, S or L; table is the table
// with the names of that kind.
func (t *Tx) NextNames(prefix, table, season string, n int) []string {
	stem := prefix + naming.ShortSeason(season) + "-"
	last := 0
	for _, name := range All[string](t, fmt.Sprintf("SELECT name FROM %q WHERE key GLOB ?", table), naming.Key(stem)+"[0-9][0-9][0-9]*") {
		if m := naming.Made().FindStringSubmatch(strings.ToUpper(name)); m != nil {
			k, _ := strconv.Atoi(m[3]) // at most six digits
			last = max(last, k)
		}
	}
	names := make([]string, n)
	for i := range names {
		name := fmt.Sprintf("%s%03d", stem, last+1+i)
		names[i] = name + string(naming.CheckLetter(name))
	}
	return names
}

// AddNamed adds a row to a table under the next free name and returns both: see [Tx.NextNames] and [Tx.Add].
func (t *Tx) AddNamed(prefix, table, season, columns string, values ...any) (id int64, name string) {
	name = t.NextNames(prefix, table, season, 1)[0]
	return t.Add(table, "name, key, season_id, "+columns, append([]any{name, naming.Key(name), t.Season(season)}, values...)...), name
}

// Which returns the full names of the plants that an id or range stands for; it is an error if there are none.
func Which(ctx context.Context, q sqlite.Querier, typed string) ([]string, error) {
	from, to, isRange := strings.Cut(typed, "..")
	// A plant may have a range for its name, which older versions accepted.
	if _, name, err := Find(ctx, q, "plant", typed); err == nil || !isRange {
		return []string{name}, err
	}
	stem, low, ok := naming.LastNumber(from)
	if _, err := strconv.Atoi(to); err == nil {
		to = stem + to // N-01..03
	}
	stem2, high, ok2 := naming.LastNumber(to)
	if !ok || !ok2 || naming.Key(stem) != naming.Key(stem2) || high < low {
		return nil, fmt.Errorf("range %q: want two ids that differ in their last number, the smaller first, such as M-03..M-09", typed)
	}
	all, err := sqlite.Column[string](ctx, q, "SELECT name FROM plant")
	if err != nil {
		return nil, err
	}
	var out []string
	for _, name := range all {
		if s, k, ok := naming.LastNumber(name); ok && naming.Key(s) == naming.Key(stem) && k >= low && k <= high {
			out = append(out, name)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("plants %q: %w", typed, ErrNotFound)
	}
	slices.SortFunc(out, selection.CompareIDs)
	return out, nil
}

// NewPlant reports whether there is no plant with that id yet, and returns the id as the book keeps it: of a plant
// that it has, in full.
func NewPlant(ctx context.Context, q sqlite.Querier, id string) (name string, isNew bool, err error) {
	_, name, err = Find(ctx, q, "plant", id)
	if err == nil || !errors.Is(err, ErrNotFound) {
		return name, false, err
	}
	misread := errors.Is(err, naming.ErrMistyped)
	if name, err = naming.CleanID(id); err != nil {
		return "", false, fmt.Errorf("plant: %w", err)
	}
	if naming.Key(name) == "none" {
		return "", false, fmt.Errorf("plant %q: %w", name, ErrNone)
	}
	if !misread {
		return name, true, nil
	}
	// Only if most such names were made by the book: 26-014A may also be a name of the grower's own.
	stem := naming.Key(naming.Made().FindStringSubmatch(strings.ToUpper(name))[2]) + "-"
	others, err := sqlite.Column[string](ctx, q, "SELECT name FROM plant WHERE key GLOB ?", stem+"[0-9]*")
	if err != nil {
		return "", false, err
	}
	ours, owns := 0, 0
	for _, other := range others {
		upper := strings.ToUpper(other)
		switch m := naming.Made().FindStringSubmatch(upper); {
		case m == nil || m[4] == "":
		case m[4] == string(naming.CheckLetter(upper[:len(upper)-1])):
			ours++
		default:
			owns++
		}
	}
	if ours <= owns {
		return name, true, nil
	}
	meant := ""
	if _, other, err := Find(ctx, q, "plant", name[:len(name)-1]); err == nil {
		meant = "; " + other + " has that number"
	}
	return "", false, fmt.Errorf("plant %q: %w%s", name, naming.ErrMistyped, meant)
}

// FreeID returns the clean form of an id that is not in the book yet; it fails with ErrDuplicate if it is.
func (t *Tx) FreeID(id string) string {
	if t.err != nil {
		return ""
	}
	name, isNew, err := NewPlant(context.Background(), t, id)
	t.Fail(err)
	if err == nil && !isNew {
		as := ""
		if clean, err := naming.CleanID(id); err == nil && naming.Key(clean) != naming.Key(name) {
			name, as = clean, ", as "+name
		}
		t.Failf("plant %q: %w%s", name, ErrDuplicate, as)
	}
	return name
}

// FreeIDs returns the clean forms of ids that are not in the book yet or, if ids is empty, n ids made by the book in the
// season.
func (t *Tx) FreeIDs(ids []string, season string, n int) (out []string) {
	if len(ids) == 0 {
		return t.NextNames("", "plant", season, n)
	}
	seen := map[string]bool{}
	for _, id := range ids {
		clean := t.FreeID(id)
		if seen[naming.Key(clean)] {
			t.Failf("plant %q: %w", clean, ErrDuplicate)
		}
		seen[naming.Key(clean)] = true
		out = append(out, clean)
	}
	return out
}

// Plant returns the row of the plant, whatever the case of id; it fails with ErrNotFound if there is none.
func (t *Tx) Plant(id string) (row int64) {
	clean, err := naming.CleanID(id)
	if err != nil {
		t.Failf("plant: %w", err)
	}
	if !t.Get("SELECT id FROM plant WHERE key = ?", naming.Key(clean)).Found(&row) {
		t.Failf("plant %q: %w", id, ErrNotFound)
	}
	return row
}

// Photo returns the name of the photo with that number; it fails with ErrNotFound if there is none.
func (t *Tx) Photo(id int64) (name string) {
	if !t.Get("SELECT name FROM photo WHERE id = ?", id).Found(&name) {
		t.Failf("photo #%d: %w", id, ErrNotFound)
	}
	return name
}

// ErrNone is returned if "none" is given as the name of a new plant.
var ErrNone = errors.New("the word stands for no plant; give it another name")
