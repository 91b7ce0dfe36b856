package garden

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/selection/book"
)

func newBook(t *testing.T) *book.Book {
	t.Helper()
	b := must.Have(book.Create(t.Context(), filepath.Join(t.TempDir(), "book"), nil))(t)
	t.Cleanup(func() { b.Close() })
	return b
}

// What an unnamed line means: nothing in an empty book, the only one, and of several a
// question that names them.
func TestLineNamed(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := newBook(t)
	if _, err := LineNamed(ctx, b, ""); !errors.Is(err, ErrNoLine) {
		t.Errorf("an empty book: %v, want %v", err, ErrNoLine)
	}
	must.OK(t, b.AddLine(ctx, "buff apricot", ""))
	if l, err := LineNamed(ctx, b, ""); err != nil || l.Name != "buff apricot" {
		t.Errorf("the only line: %+v, %v", l, err)
	}
	if _, _, err := Aimed(ctx, b, "", ""); err == nil || !strings.Contains(err.Error(), "line buff apricot has no target yet") {
		t.Errorf("a line without a target: %v", err)
	}
	must.OK(t, b.AddLine(ctx, "cosmos", ""))
	var ask *AskError
	if _, err := LineNamed(ctx, b, ""); !errors.As(err, &ask) || !strings.Contains(err.Error(), `"buff apricot", cosmos`) {
		t.Errorf("two lines: %v", err)
	}
	if l, err := LineNamed(ctx, b, "Buff Apricot"); err != nil || l.Name != "buff apricot" {
		t.Errorf("a line named in other letters: %+v, %v", l, err)
	}
}

// A grower who names seasons by years gets a photo's own year; with other names the
// present season counts.
func TestSeasonOf(t *testing.T) {
	t.Parallel()
	taken := time.Date(2025, 8, 1, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		taken     time.Time
		now, want string
	}{
		{taken, "2026", "2025"}, {time.Time{}, "2026", "2026"}, {taken, "2026-27", "2026-27"}, {taken, "spring", "spring"},
	} {
		if got := SeasonOfPhoto(c.taken, c.now); got != c.want {
			t.Errorf("taken %v in %s: season %s, want %s", c.taken, c.now, got, c.want)
		}
	}
	b := newBook(t)
	if s, err := SeasonOn(t.Context(), b, "", taken, taken.AddDate(1, 0, 0)); err != nil || s != "2025" {
		t.Errorf("an empty book: season %s, %v, want the day's year", s, err)
	}
}

// A line without readings has no pairs, plan or trend, and says what to do first.
func TestNothingMeasured(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := newBook(t)
	must.OK(t, b.SetTarget(ctx, "buff", book.Target{Lab: cie.Lab{L: 76, A: 14, B: 38}}))
	if _, err := Rank(ctx, b, &Options{}); err == nil {
		t.Error("plants are ranked without a reading")
	}
	if _, err := Pairs(ctx, b, UsualPairs()); err == nil {
		t.Error("pairs are made of nothing")
	}
	if _, _, err := Plan(ctx, b, &PlanOptions{Seasons: 3}); err == nil {
		t.Error("a plan is made of nothing")
	}
	if g, err := Work(ctx, b, "2026", time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)); err != nil || len(g.Heads)+len(g.Plants) > 0 {
		t.Errorf("work in an empty season: %+v, %v", g, err)
	}
}
