package book_test

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/record"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// What is read back from the words and numbers that a trait takes is the value.
func TestTraitValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		tr := rapid.SampledFrom(UsualTraits).Draw(t, "trait")
		if len(tr.Words) > 0 {
			i := rapid.IntRange(0, len(tr.Words)-1).Draw(t, "step")
			v, err := tr.Value(tr.Words[i])
			if err != nil || v != *tr.Low+float64(i) || tr.Word(v) != tr.Words[i] {
				t.Fatalf("%s %q = %v, %v, word %q", tr.Name, tr.Words[i], v, err, tr.Word(v))
			}
		}
		if v, err := tr.Value(rapid.String().Draw(t, "text")); err == nil && (math.IsNaN(v) || v < *tr.Low || v > *tr.High) {
			t.Fatalf("%s took %v", tr.Name, v)
		}
	})
	for _, tr := range UsualTraits {
		if _, err := record.CleanTrait(tr); err != nil {
			t.Error(err)
		}
	}
}

func TestScores(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	for _, id := range []string{"M-1", "M-2"} {
		must.OK(t, b.AddPlant(ctx, Plant{ID: id, Line: "marigold", Season: "2026"}))
	}
	on := time.Date(2026, 7, 4, 0, 0, 0, 0, time.UTC)
	before := booktest.Rows(t, b)
	must.OK(t, b.SetScores(ctx, Score{Plant: "m-1", Trait: "Form", Value: 3, On: on}, Score{Plant: "M-1", Trait: "form", Value: 4, On: on,
		Note: "later"},
		Score{Plant: "M-2", Trait: "stem  length", Value: 45.5}))
	got, err := b.Scores(ctx, "")
	want := []Score{{Plant: "M-1", Trait: "form", Value: 4, On: on, Note: "later"}, {Plant: "M-2", Trait: "stem length", Value: 45.5}}
	if d := cmp.Diff(want, got); d != "" || err != nil {
		t.Errorf("scores: %v (-want +got):\n%s", err, d)
	}
	if err := b.SetScores(ctx, Score{Plant: "M-1", Trait: "form", Value: math.NaN()}, Score{Plant: "M-3", Trait: "form",
		Value: 1}); !errors.Is(err, ErrNotFound) {
		t.Errorf("a plant that is not there: %v", err)
	}
	if got, _ := b.Scores(ctx, "M-1"); len(got) != 1 {
		t.Errorf("after a failed change: %v, want the score as it was", got)
	}
	must.Have(b.Undo(ctx, 0))(t)
	booktest.Same(t, "after undo", before, booktest.Rows(t, b))
}
