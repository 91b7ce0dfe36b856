package book

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
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// nextName is a free name: prefix is "" for plants, X, P, S or L; table where the
// names of that kind are.
func nextName(tx *sql.Tx, prefix, table, season string) (string, error) {
	names, err := nextNames(tx, prefix, table, season, 1)
	if err != nil {
		return "", err
	}
	return names[0], nil
}

// nextNames are n free names, as [nextName] makes them.
func nextNames(tx *sql.Tx, prefix, table, season string, n int) ([]string, error) {
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

// rowQuerier is a database or a transaction in it.
type rowQuerier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// countOf is an optional count as SQLite takes it.
func countOf(n *int) any {
	if n == nil {
		return nil
	}
	return *n
}

// find returns the row and the full name of what was typed: a plant, cross,
// head, packet, sowing or stored pollen by its name, whatever the case, the check letter
// left out or not. The error wraps ErrNotFound, and [naming.ErrMistyped] too where the
// letter is the likely cause.
func find(ctx context.Context, q rowQuerier, table, typed string) (row int64, name string, err error) {
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
			if _, plant, err := find(ctx, q, "plant", upper[:i]); err == nil {
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

// Which turns what was typed into the names of plants, each once, in the order
// given: ids, with or without the check letter, and ranges such as
// M-03..M-09, which stand for those of them that are in the book. It returns
// ErrNotFound for an id that is not, and for a range that holds none.
func (b *Book) Which(ctx context.Context, typed []string) ([]string, error) {
	var out []string
	for _, t := range typed {
		names, err := which(ctx, b.from, t)
		if err != nil {
			return nil, sqlite.Wrap(err)
		}
		for _, name := range names {
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out, nil
}

// One is [Book.Which] where a single plant is meant: a range that stands for several is
// an error.
func (b *Book) One(ctx context.Context, typed string) (string, error) {
	names, err := which(ctx, b.from, typed)
	if err != nil {
		return "", sqlite.Wrap(err)
	}
	if len(names) > 1 {
		return "", fmt.Errorf("plants %q are %d; name one of them", typed, len(names))
	}
	return names[0], nil
}

// which are the full names of the plants that one id or range stands for; not none.
func which(ctx context.Context, q record.Querier, typed string) ([]string, error) {
	from, to, isRange := strings.Cut(typed, "..")
	// A plant may be called so since the time when ranges were names, too.
	if _, name, err := find(ctx, q, "plant", typed); err == nil || !isRange {
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

// HeadNames turns what was typed into the full names of heads: names, ranges, and
// plants for all their heads. It returns ErrNotFound for what is none.
func (b *Book) HeadNames(ctx context.Context, typed []string) (names []string, err error) {
	for _, t := range typed {
		many, err := headRange(ctx, b.from, t)
		if err != nil {
			return nil, err
		}
		for _, one := range many {
			_, name, err := find(ctx, b.from, "head", one)
			if err == nil {
				names = append(names, name)
				continue
			}
			if !errors.Is(err, ErrNotFound) {
				return nil, err
			}
			plant, _, err2 := find(ctx, b.from, "plant", one)
			if err2 != nil {
				return nil, err
			}
			of, err := collect(ctx, b, "SELECT name FROM head WHERE plant_id = ? ORDER BY number", []any{plant}, func(rows *sql.Rows,
				s *string) error {
				return rows.Scan(s)
			})
			if err != nil {
				return nil, err
			}
			names = append(names, of...)
		}
	}
	return names, nil
}

// PacketNames turns what was typed into the full names of packets.
func (b *Book) PacketNames(ctx context.Context, typed []string) (names []string, err error) {
	for _, t := range typed {
		_, name, err := find(ctx, b.from, "packet", t)
		if err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, nil
}
