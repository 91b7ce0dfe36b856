package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// New reports whether a plant of that id would be a new one. It is an error where the id
// is not usable, and a [naming.ErrMistyped] where it looks like one of the book's own
// making whose last letter does not fit: that is a tag misread, and no new plant.
func (b *Book) New(ctx context.Context, id string) (bool, error) {
	_, isNew, err := newPlant(ctx, b.db, id)
	return isNew, sqlite.Wrap(err)
}

// newPlant is New, and the id as the book keeps it: of a plant that it has, in full.
func newPlant(ctx context.Context, q record.Querier, id string) (name string, isNew bool, err error) {
	_, name, err = find(ctx, q, "plant", id)
	if err == nil || !errors.Is(err, ErrNotFound) {
		return name, false, err
	}
	misread := errors.Is(err, naming.ErrMistyped)
	if name, err = naming.CleanID(id); err != nil {
		return "", false, fmt.Errorf("plant: %w", err)
	}
	if naming.Key(name) == "none" {
		return "", false, fmt.Errorf("plant %q: the word stands for no plant; give it another name", name)
	}
	if !misread {
		return name, true, nil
	}
	// Only where the book makes such names: 26-014A may be a grower's own.
	stem := naming.Key(naming.Made.FindStringSubmatch(strings.ToUpper(name))[2]) + "-"
	others, err := record.Collect(ctx, q, "SELECT name FROM plant WHERE key GLOB ?", []any{stem + "[0-9]*"}, func(rows *sql.Rows,
		s *string) error {
		return rows.Scan(s)
	})
	if err != nil {
		return "", false, err
	}
	for _, other := range others {
		upper := strings.ToUpper(other)
		if m := naming.Made.FindStringSubmatch(upper); m != nil && m[4] == string(naming.CheckLetter(strings.TrimSuffix(upper, m[4]))) {
			return "", false, fmt.Errorf("plant %q: %w", name, naming.ErrMistyped)
		}
	}
	return name, true, nil
}

// freeID is a usable id of a plant that is not in the book yet, or an ErrDuplicate.
func freeID(tx *sql.Tx, id string) (string, error) {
	name, isNew, err := newPlant(context.Background(), tx, id)
	if err == nil && !isNew {
		if clean, err := naming.CleanID(id); err == nil && naming.Key(clean) != naming.Key(name) {
			return "", fmt.Errorf("plant %q: %w, as %s", clean, ErrDuplicate, name)
		}
		return "", fmt.Errorf("plant %q: %w", name, ErrDuplicate)
	}
	return name, err
}

// Alike finds plants of the book that are easily taken for those of the names, by those
// names: M-06 for m06 (see [naming.Alike]). Those that are among the names themselves come
// last.
func (b *Book) Alike(ctx context.Context, names []string) (map[string]string, error) {
	want := map[string][]string{} // by likeness
	among := map[string]bool{}
	for _, n := range names {
		want[naming.Alike(n)] = append(want[naming.Alike(n)], n)
		among[naming.Key(n)] = true
	}
	all, err := record.Collect(ctx, b.db, "SELECT name FROM plant ORDER BY id", nil, func(rows *sql.Rows, s *string) error { return rows.Scan(s) })
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, name := range all {
		for _, n := range want[naming.Alike(name)] {
			old := out[n]
			if naming.Key(n) != naming.Key(name) && (old == "" || among[naming.Key(old)] && !among[naming.Key(name)]) {
				out[n] = name
			}
		}
	}
	return out, nil
}

// NewPlants tells of plants that were added without anybody having said so: "2 new
// plants: M-99, m06; did you mean M-06?"; empty of none.
func (b *Book) NewPlants(ctx context.Context, names []string) (string, error) {
	if len(names) == 0 {
		return "", nil
	}
	alike, err := b.Alike(ctx, names)
	if err != nil {
		return "", err
	}
	what := "new plant"
	if len(names) > 1 {
		what = fmt.Sprintf("%d new plants", len(names))
	}
	return what + ": " + nameList(names) + DidYouMean(names, alike), nil
}

// DidYouMean asks for each name that is easily taken for another whether that was meant;
// alike is as [Book.Alike] returns it. Of two new plants that are alike, the later asks.
func DidYouMean(names []string, alike map[string]string) string {
	var asked []string
	seen := map[string]bool{}
	for _, n := range slices.Backward(names) {
		other := alike[n]
		if other == "" || seen[naming.Key(other)+" "+naming.Key(n)] {
			continue
		}
		seen[naming.Key(n)+" "+naming.Key(other)] = true
		asked = append(asked, other+" ("+n+")")
	}
	slices.Reverse(asked)
	switch {
	case len(asked) == 0:
		return ""
	case len(asked) == 1:
		asked[0], _, _ = strings.Cut(asked[0], " (")
	case len(asked) > 6:
		asked = append(asked[:6], fmt.Sprintf("… (%d in all)", len(asked)))
	}
	return "; did you mean " + strings.Join(asked, ", ") + "?"
}
