package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Names that the book makes are short enough to say and to write on a tag: the
// season's last two digits, a number, and a check letter, as 26-014H of a plant,
// X26-003D of a cross, P26-003S of a packet, S27-002T of a sowing. A head is the
// plant's name with -1, -2, … The letter may be left out when a name is typed;
// where it is typed, it must fit.

// ErrMistyped: the check letter does not fit the number.
var ErrMistyped = errors.New("the last letter does not fit the number; look at the tag again")

// checkLetters are 23, a prime, without those that look like a digit or another:
// I, O, U.
const checkLetters = "ABCDEFGHJKLMNPQRSTVWXYZ"

// CheckLetter is the letter that guards a made name against mistyping: any one
// digit wrong, and any two neighbours swapped, give another letter.
//
// Source: a weighted sum modulo a prime, as in ISBN-10; weights and letters are
// our own.
func CheckLetter(name string) byte {
	sum, weight := 0, 2
	for i := len(name) - 1; i >= 0; i-- {
		c := name[i]
		switch {
		case c >= '0' && c <= '9':
			sum += weight * int(c-'0')
		case c >= 'A' && c <= 'Z':
			sum += weight * int(c-'A'+10)
		default:
			continue // dashes carry nothing
		}
		weight++
	}
	return checkLetters[sum%len(checkLetters)]
}

// madeName is a name of the book's making, with or without its letter.
var madeName = regexp.MustCompile(`^([XPS]?)([0-9]{1,4})-([0-9]{3,6})([A-HJ-NP-TV-Z]?)$`)

// nextName is a free name: prefix is "" for plants, X, P or S; table where the
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
	stem := prefix + shortSeason(season) + "-"
	rows, err := tx.Query(fmt.Sprintf("SELECT name FROM %q WHERE key GLOB ?", table), key(stem)+"[0-9][0-9][0-9]*")
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
		if m := madeName.FindStringSubmatch(strings.ToUpper(name)); m != nil {
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
		names[i] = name + string(CheckLetter(name))
	}
	return names, nil
}

// shortSeason is what of a season's name goes into the names made in it: of
// 2026 the 26; of others their digits, at most four; 0 when there are none.
func shortSeason(season string) string {
	d := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, season)
	switch {
	case d == "":
		return "0"
	case len(d) == 4:
		return d[2:]
	}
	return d[:min(len(d), 4)]
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
// head, packet or sowing by its name, whatever the case, the check letter
// left out or not. The error wraps ErrNotFound, and ErrMistyped too where the
// letter is the likely cause.
func find(ctx context.Context, q rowQuerier, table, typed string) (row int64, name string, err error) {
	clean, err := CleanID(typed)
	if err != nil {
		return 0, "", fmt.Errorf("%s: %w", table, err)
	}
	// try looks for exactly this name; found or failed, the search is over.
	try := func(exact string) (over bool) {
		err = q.QueryRowContext(ctx, fmt.Sprintf("SELECT id, name FROM %q WHERE key = ?", table), key(exact)).Scan(&row, &name)
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
	if m := madeName.FindStringSubmatch(upper); m != nil {
		fits := string(CheckLetter(strings.TrimSuffix(upper, m[4])))
		if m[4] == "" {
			if try(upper + fits) {
				return row, name, err
			}
		} else if m[4] != fits {
			return 0, "", fmt.Errorf("%s %q: %w (%w)", table, typed, ErrNotFound, ErrMistyped)
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
	add := func(name string) {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, t := range typed {
		from, to, isRange := strings.Cut(t, "..")
		if !isRange {
			_, name, err := find(ctx, b.db, "plant", t)
			if err != nil {
				return nil, err
			}
			add(name)
			continue
		}
		stem, low, ok := lastNumber(from)
		stem2, high, ok2 := lastNumber(to)
		if !ok || !ok2 || key(stem) != key(stem2) || high < low {
			return nil, fmt.Errorf("range %q: want two ids that differ in their last number, the smaller first, such as M-03..M-09", t)
		}
		plants, err := b.Plants(ctx, PlantFilter{})
		if err != nil {
			return nil, err
		}
		n := len(out)
		for _, p := range plants {
			if s, k, ok := lastNumber(p.ID); ok && key(s) == key(stem) && k >= low && k <= high {
				add(p.ID)
			}
		}
		if n == len(out) {
			return nil, fmt.Errorf("plants %q: %w", t, ErrNotFound)
		}
	}
	return out, nil
}

// lastNumber splits an id before its last number; a check letter after it is
// left out.
func lastNumber(id string) (stem string, n int, ok bool) {
	id = strings.TrimSpace(id)
	if m := madeName.FindStringSubmatch(strings.ToUpper(id)); m != nil && m[4] != "" {
		id = id[:len(id)-1]
	}
	i := len(id)
	for i > 0 && id[i-1] >= '0' && id[i-1] <= '9' {
		i--
	}
	n, err := strconv.Atoi(id[i:])
	return id[:i], n, err == nil
}

// HeadNames turns what was typed into the full names of heads: names, ranges, and
// plants for all their heads. It returns ErrNotFound for what is none.
func (b *Book) HeadNames(ctx context.Context, typed []string) (names []string, err error) {
	for _, t := range typed {
		many, err := headRange(t)
		if err != nil {
			return nil, err
		}
		for _, one := range many {
			_, name, err := find(ctx, b.db, "head", one)
			if err == nil {
				names = append(names, name)
				continue
			}
			if !errors.Is(err, ErrNotFound) {
				return nil, err
			}
			plant, _, err2 := find(ctx, b.db, "plant", one)
			if err2 != nil {
				return nil, err
			}
			of, err := collect(ctx, b, "SELECT name FROM head WHERE plant_id = ? ORDER BY number", []any{plant}, func(rows *sql.Rows, s *string) error { return rows.Scan(s) })
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
		_, name, err := find(ctx, b.db, "packet", t)
		if err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, nil
}
