package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/unicode/norm"

	"hueward/selection/book/naming"
	"hueward/selection/book/sqlite"
	"hueward/selection/written"
)

// Trait is a trait other than colour on which plants are scored.
type Trait struct {
	Name, Unit string
	Low, High  *float64
	Better     string   // "more", "less", or empty: neither
	Words      []string // what the whole steps from Low on mean
	Note       string
}

// Value parses a score of the trait: a number, with a decimal point or comma, or one of its words.
func (t *Trait) Value(s string) (float64, error) {
	s = strings.TrimSpace(s)
	for i, w := range t.Words {
		if strings.EqualFold(w, s) && t.Low != nil {
			return *t.Low + float64(i), nil
		}
	}
	v, err := written.Number(s)
	if err != nil || !Finite(v) || t.Low != nil && v < *t.Low || t.High != nil && v > *t.High {
		return 0, fmt.Errorf("%s %q: want %s", t.Title(), s, t.wanted())
	}
	return v, nil
}

// wanted describes the values that the trait takes.
func (t *Trait) wanted() string {
	s := "a number"
	if t.Unit != "" {
		s += " of " + t.Unit
	}
	switch {
	case t.Low != nil && t.High != nil:
		s += fmt.Sprintf(" from %g to %g", *t.Low, *t.High)
	case t.Low != nil:
		s += fmt.Sprintf(" of at least %g", *t.Low)
	case t.High != nil:
		s += fmt.Sprintf(" of at most %g", *t.High)
	}
	if len(t.Words) > 0 {
		s += ", or " + strings.Join(t.Words, ", ")
	}
	return s
}

// Title returns the trait's name as people read it: the trait "form" of older books is a flower's doubleness.
func (t *Trait) Title() string {
	if t.Name == "form" && len(t.Words) > 0 && t.Words[0] == "single" {
		return "doubleness"
	}
	return t.Name
}

// Word returns the value in words: the scale's nearest step, or the number with its unit.
func (t *Trait) Word(v float64) string {
	if t.Low != nil {
		if i := int(math.Round(v - *t.Low)); i >= 0 && i < len(t.Words) {
			return t.Words[i]
		}
	}
	return strings.TrimSpace(strconv.FormatFloat(v, 'f', -1, 64) + " " + t.Unit)
}

// CleanTrait returns the trait as the book keeps it, or an error that says what is wrong with it.
func CleanTrait(t Trait) (Trait, error) {
	t.Name = strings.ToLower(norm.NFC.String(strings.Join(strings.Fields(t.Name), " ")))
	if _, err := naming.CleanLine(t.Name); err != nil || len(t.Name) > 40 || strings.ContainsAny(t.Name, "=,;:\"") {
		return t, fmt.Errorf("trait %q is not a usable name; use up to 40 ordinary characters without = , ; : and quotes", t.Name)
	}
	for _, w := range append([]string{t.Unit}, t.Words...) {
		if _, err := naming.CleanLabel(w); err != nil {
			return t, fmt.Errorf("trait %q: %w", t.Name, err)
		}
	}
	if t.Low != nil && t.High != nil && !(*t.Low < *t.High) {
		return t, fmt.Errorf("trait %q: the scale's least value, %v, is not below its greatest, %v", t.Name, *t.Low, *t.High)
	}
	for _, v := range [2]*float64{t.Low, t.High} {
		if v != nil && !Finite(*v) {
			return t, fmt.Errorf("trait %q: %v is not an ordinary number", t.Name, *v)
		}
	}
	if t.Better != "" && t.Better != "more" && t.Better != "less" {
		return t, fmt.Errorf("trait %q: better %q; want more, less, or nothing", t.Name, t.Better)
	}
	if len(t.Words) > 0 && (t.Low == nil || t.High == nil || len(t.Words) != int(math.Round(*t.High-*t.Low))+1) {
		return t, fmt.Errorf("trait %q: %d words; want one for each whole step of its scale", t.Name, len(t.Words))
	}
	if t.Words == nil {
		t.Words = []string{}
	}
	return t, nil
}

// Traits returns the traits in order of entry.
func Traits(ctx context.Context, q sqlite.Querier) ([]Trait, error) {
	return sqlite.Collect(ctx, q, "SELECT name, unit, low, high, better, words, note FROM trait ORDER BY id", nil, func(rows *sql.Rows,
		t *Trait) error {
		var words string
		err := rows.Scan(&t.Name, &t.Unit, &t.Low, &t.High, &t.Better, &words, &t.Note)
		if err == nil && json.Unmarshal([]byte(words), &t.Words) != nil {
			err = damaged("the scale of trait %q", t.Name)
		}
		return err
	})
}
