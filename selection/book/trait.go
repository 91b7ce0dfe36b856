package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// UsualTraits are those that a grower may score without saying first what they are. Common practice, no source.
var UsualTraits = []Trait{
	{Name: "form", Low: new(1.0), High: new(5.0), Better: "more", Words: []string{"single", "a few more petals", "semi-double", "double",
		"fully double"},
		Note: "how full the flower is"},
	{Name: "quality of form", Low: new(1.0), High: new(5.0), Better: "more", Words: []string{"misshapen", "poor", "fair", "good", "perfect"},
		Note: "how well shaped the flower is, of its kind"},
	{Name: "habit", Low: new(1.0), High: new(5.0), Better: "more", Words: []string{"lying", "sprawling", "loose", "upright",
		"stiffly upright"},
		Note: "how the plant stands"},
	{Name: "vigour", Low: new(1.0), High: new(5.0), Better: "more", Words: []string{"very weak", "weak", "middling", "strong", "very strong"},
		Note: "how well it grows"},
	{Name: "health", Low: new(1.0), High: new(5.0), Better: "more", Words: []string{"dying", "badly ill", "ill", "touched", "sound"},
		Note: "mildew, rust, wilt and the like"},
	{Name: "stem length", Unit: "cm", Low: new(0.0), High: new(400.0), Better: "more", Note: "from the ground to the first flower"},
	{Name: "days to flower", Unit: "days", Low: new(0.0), High: new(1000.0), Better: "less", Note: "from sowing to the first open flower"},
}

// UsualTrait is the usual trait of that name, whatever its case, or of the name that people read.
func UsualTrait(name string) (Trait, bool) {
	want := naming.Key(strings.Join(strings.Fields(name), " "))
	for _, t := range UsualTraits {
		if naming.Key(t.Name) == want || naming.Key(t.Title()) == want {
			return t, true
		}
	}
	return Trait{}, false
}

// traitNamed is the trait of that name that the book has, or else a usual one; nil: there is none.
func traitNamed(known []Trait, name string) *Trait {
	name = strings.Join(strings.Fields(name), " ")
	usual, ok := UsualTrait(name)
	for _, n := range [2]string{name, usual.Name} {
		if i := slices.IndexFunc(known, func(t Trait) bool { return naming.Key(t.Name) == naming.Key(n) }); i >= 0 {
			return &known[i]
		}
	}
	if !ok {
		return nil
	}
	return &usual
}

// AddTrait says what plants may be scored on, or changes what is said of a trait; its name keeps its scores. Values
// must lie from Low to High, where given. It is an error when scores that are there would fall outside.
func (b *Book) AddTrait(ctx context.Context, tr Trait) error {
	tr, err := record.CleanTrait(tr)
	if err != nil {
		return err
	}
	return b.Change(ctx, func(t *record.Tx) string {
		var outside int
		if t.Get("SELECT count(*) FROM score x JOIN trait t ON t.id = x.trait_id WHERE t.key = ? AND (x.value < ? OR x.value > ?)",
			naming.Key(tr.Name), tr.Low, tr.High).Into(&outside); outside > 0 {
			t.Failf("trait %q: %d of its scores would lie outside; widen the scale or correct them", tr.Name, outside)
		}
		putTrait(t, tr)
		return "trait " + tr.Name
	})
}

// putTrait adds the clean trait, or changes the one of that name.
func putTrait(t *record.Tx, tr Trait) (id int64) {
	words, err := json.Marshal(tr.Words)
	t.Fail(err)
	t.Get(`INSERT INTO trait (name, key, unit, low, high, better, words, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (key) DO UPDATE SET unit = excluded.unit, low = excluded.low, high = excluded.high, better = excluded.better,
			words = excluded.words, note = excluded.note RETURNING id`,
		tr.Name, naming.Key(tr.Name), tr.Unit, tr.Low, tr.High, tr.Better, string(words), tr.Note).Into(&id)
	return id
}

// Trait returns a trait of the book, or one of the usual ones, whatever the case of its name; or ErrNotFound.
func (b *Book) Trait(ctx context.Context, name string) (*Trait, error) {
	traits, err := b.Traits(ctx)
	if err != nil {
		return nil, err
	}
	if t := traitNamed(traits, name); t != nil {
		return t, nil
	}
	return nil, fmt.Errorf("trait %q: %w", name, ErrNotFound)
}

// SetScores keeps scores, all of them or none; the newest of a plant and trait counts. A value that is not a number
// (NaN) takes back what was scored of the plant in that trait. A usual trait is added when it is first scored. It
// returns ErrNotFound for an unknown plant or trait.
func (b *Book) SetScores(ctx context.Context, scores ...Score) error {
	known, err := b.Traits(ctx)
	if err != nil {
		return err
	}
	return b.Change(ctx, func(t *record.Tx) string {
		var what []string
		for _, s := range scores {
			row, name := t.Find("plant", s.Plant)
			tr, id := b.traitRow(t, known, s.Trait)
			if math.IsNaN(s.Value) {
				t.Do("DELETE FROM score WHERE plant_id = ? AND trait_id = ?", row, id)
				what = append(what, fmt.Sprintf("%s %s taken back", name, tr.Title()))
				continue
			}
			if _, err := tr.Value(strconv.FormatFloat(s.Value, 'g', -1, 64)); err != nil {
				t.Failf("plant %q: %w", name, err)
			}
			t.Add("score", "plant_id, trait_id, value, scored_on, note, added_at", row, id, s.Value, dayText(s.On), s.Note, b.Stamp())
			what = append(what, fmt.Sprintf("%s %s %g", name, tr.Title(), s.Value))
		}
		if len(what) > 4 {
			return fmt.Sprintf("%d scores: %s …", len(what), strings.Join(what[:3], ", "))
		}
		return "scored " + strings.Join(what, ", ")
	})
}

// traitRow returns the trait and its row; one of the usual ones is added.
func (b *Book) traitRow(t *record.Tx, known []Trait, name string) (tr *Trait, id int64) {
	if tr = traitNamed(known, name); tr == nil {
		t.Fail(remedy.Step(remedy.SayTrait, name).Errorf("trait %q: %w; say what it is first", name, ErrNotFound))
		return &Trait{}, 0
	}
	if !t.Get("SELECT id FROM trait WHERE key = ?", naming.Key(tr.Name)).Found(&id) {
		id = putTrait(t, *tr)
	}
	return tr, id
}

// Scores returns the scores that count, of a plant or of all with "", in order of plant and trait.
func (b *Book) Scores(ctx context.Context, plant string) ([]Score, error) {
	out, err := sqlite.Collect(ctx, b.from, `SELECT p.name, t.name, x.value, x.scored_on, x.note FROM score x JOIN plant p ON p.id = x.plant_id
		JOIN trait t ON t.id = x.trait_id
		WHERE (?1 = '' OR p.key = ?1) AND x.id = (SELECT max(id) FROM score WHERE plant_id = x.plant_id AND trait_id = x.trait_id)
		ORDER BY p.id, t.id`, []any{naming.Key(plant)}, func(rows *sql.Rows, s *Score) error {
		return rows.Scan(&s.Plant, &s.Trait, &s.Value, record.AsDay(&s.On), &s.Note)
	})
	slices.SortStableFunc(out, func(x, y Score) int { return selection.CompareIDs(x.Plant, y.Plant) })
	return out, err
}
