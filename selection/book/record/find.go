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
)

// What callers branch on.
var (
	ErrNotFound  = errors.New("not in the book")     // no such line, season, plant or photo
	ErrDuplicate = errors.New("already in the book") // the name is taken
)

// Find returns the row and the full name of what was typed: a plant, cross,
// head, packet, sowing or stored pollen by its name, whatever the case, the check letter
// left out or not. The error wraps ErrNotFound, and [naming.ErrMistyped] too where the
// letter is the likely cause.
func Find(ctx context.Context, q Querier, table, typed string) (row int64, name string, err error) {
	clean, err := naming.CleanID(typed)
	if err != nil {
		// A name that was taken before the rules were stricter is still found.
		if q.QueryRowContext(ctx, fmt.Sprintf("SELECT id, name FROM %q WHERE key = ?", table), naming.Key(strings.TrimSpace(typed))).Scan(&row,
			&name) == nil {
			return row, name, nil
		}
		return 0, "", fmt.Errorf("%s: %w", table, err)
	}
	// try looks for exactly this name; found or failed, the search is over.
	try := func(exact string) (over bool) {
		err = q.QueryRowContext(ctx, fmt.Sprintf("SELECT id, name FROM %q WHERE key = ?", table), naming.Key(exact)).Scan(&row, &name)
		return !errors.Is(err, sql.ErrNoRows)
	}
	if try(clean) {
		return row, name, err
	}
	upper := strings.ToUpper(clean)
	if table == "head" {
		// The plant's part may lack its letter.
		if i := strings.LastIndexByte(upper, '-'); i > 0 {
			if _, plant, err := Find(ctx, q, "plant", upper[:i]); err == nil {
				if try(plant + upper[i:]) {
					return row, name, err
				}
			}
		}
		return 0, "", fmt.Errorf("head %q: %w", typed, ErrNotFound)
	}
	if m := naming.Made.FindStringSubmatch(upper); m != nil {
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

// NextName is a free name: prefix is "" for plants, X, P, S or L; table where the
// names of that kind are.
func NextName(tx *sql.Tx, prefix, table, season string) (string, error) {
	names, err := NextNames(tx, prefix, table, season, 1)
	if err != nil {
		return "", err
	}
	return names[0], nil
}

// NextNames are n free names, as [NextName] makes them.
func NextNames(tx *sql.Tx, prefix, table, season string, n int) ([]string, error) {
	stem := prefix + naming.ShortSeason(season) + "-"
	rows, err := tx.Query(fmt.Sprintf("SELECT name FROM %q WHERE key GLOB ?", table), naming.Key(stem)+"[0-9][0-9][0-9]*")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	last := 0
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		if m := naming.Made.FindStringSubmatch(strings.ToUpper(name)); m != nil {
			k, _ := strconv.Atoi(m[3]) // at most six digits
			last = max(last, k)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	names := make([]string, n)
	for i := range names {
		name := fmt.Sprintf("%s%03d", stem, last+1+i)
		names[i] = name + string(naming.CheckLetter(name))
	}
	return names, nil
}

// CountOf is an optional count as SQLite takes it.
func CountOf(n *int) any {
	if n == nil {
		return nil
	}
	return *n
}

// Which are the full names of the plants that one id or range stands for; not none.
func Which(ctx context.Context, q Querier, typed string) ([]string, error) {
	from, to, isRange := strings.Cut(typed, "..")
	// A plant may be called so since the time when ranges were names, too.
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
	rows, err := q.QueryContext(ctx, "SELECT name FROM plant")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		if s, k, ok := naming.LastNumber(name); ok && naming.Key(s) == naming.Key(stem) && k >= low && k <= high {
			out = append(out, name)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("plants %q: %w", typed, ErrNotFound)
	}
	slices.SortFunc(out, selection.CompareIDs)
	return out, nil
}

// NewPlant is New, and the id as the book keeps it: of a plant that it has, in full.
func NewPlant(ctx context.Context, q Querier, id string) (name string, isNew bool, err error) {
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
	// Only where most such names are of the book's making: 26-014A may be a grower's own.
	stem := naming.Key(naming.Made.FindStringSubmatch(strings.ToUpper(name))[2]) + "-"
	others, err := Collect(ctx, q, "SELECT name FROM plant WHERE key GLOB ?", []any{stem + "[0-9]*"}, func(rows *sql.Rows,
		s *string) error {
		return rows.Scan(s)
	})
	if err != nil {
		return "", false, err
	}
	ours, owns := 0, 0
	for _, other := range others {
		upper := strings.ToUpper(other)
		switch m := naming.Made.FindStringSubmatch(upper); {
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

// FreeID is a usable id of a plant that is not in the book yet, or an ErrDuplicate.
func FreeID(tx *sql.Tx, id string) (string, error) {
	name, isNew, err := NewPlant(context.Background(), tx, id)
	if err == nil && !isNew {
		if clean, err := naming.CleanID(id); err == nil && naming.Key(clean) != naming.Key(name) {
			return "", fmt.Errorf("plant %q: %w, as %s", clean, ErrDuplicate, name)
		}
		return "", fmt.Errorf("plant %q: %w", name, ErrDuplicate)
	}
	return name, err
}

// FreeIDs are clean ids of plants that are not in the book yet.
func FreeIDs(tx *sql.Tx, ids []string) ([]string, error) {
	var out []string
	seen := map[string]bool{}
	for _, id := range ids {
		clean, err := FreeID(tx, id)
		if err != nil {
			return nil, err
		}
		if seen[naming.Key(clean)] {
			return nil, fmt.Errorf("plant %q: %w", clean, ErrDuplicate)
		}
		seen[naming.Key(clean)] = true
		out = append(out, clean)
	}
	return out, nil
}

// PlantRow returns the row of the plant, whatever the case of id, or ErrNotFound.
func PlantRow(tx *sql.Tx, id string) (row int64, err error) {
	clean, err := naming.CleanID(id)
	if err != nil {
		return 0, fmt.Errorf("plant: %w", err)
	}
	err = tx.QueryRow("SELECT id FROM plant WHERE key = ?", naming.Key(clean)).Scan(&row)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("plant %q: %w", id, ErrNotFound)
	}
	return row, err
}

// Numbers are the first column of what the query finds.
func Numbers(tx *sql.Tx, query string, args ...any) (out []int64, err error) {
	rows, err := tx.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var n int64
		if err := rows.Scan(&n); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, rows.Err()
}

func PhotoName(tx *sql.Tx, id int64, name *string) error {
	err := tx.QueryRow("SELECT name FROM photo WHERE id = ?", id).Scan(name)
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("photo #%d: %w", id, ErrNotFound)
	}
	return err
}

// ErrNone says that "none" was given as the name of a new plant.
var ErrNone = errors.New("the word stands for no plant; give it another name")
