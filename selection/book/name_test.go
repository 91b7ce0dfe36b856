package book_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"

	"hueward/selection/book/booktest"
	"hueward/selection/book/naming"
)

func TestWhich(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	made := "26-014" + string(naming.CheckLetter("26-014"))
	for _, id := range []string{"M-1", "M-2", "M-3", "M-10", "26-9", made} {
		must.OK(t, b.AddPlant(ctx, Plant{ID: id, Line: "marigold", Season: "2026"}))
	}
	for _, c := range []struct {
		typed string
		want  []string
	}{
		{"m-2", []string{"M-2"}},
		{"M-2..M-10", []string{"M-2", "M-3", "M-10"}},
		{"M-1 M-1..M-2 M-1", []string{"M-1", "M-2"}},
		{"26-014", []string{made}},
		{strings.ToLower(made), []string{made}},
		{"26-010..26-020", []string{made}},
	} {
		got, err := b.Which(ctx, strings.Fields(c.typed))
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("Which(%q) = %q, %v, want %q", c.typed, got, err, c.want)
		}
	}
	wrong := "26-015" + made[len(made)-1:]
	if _, err := b.Which(ctx, []string{wrong}); !errors.Is(err, ErrNotFound) || !errors.Is(err, naming.ErrMistyped) {
		t.Errorf("Which(%q): %v, want naming.ErrMistyped", wrong, err)
	}
	for _, typed := range []string{"M-4", "M-4..M-9", "26-015"} {
		if _, err := b.Which(ctx, []string{typed}); !errors.Is(err, ErrNotFound) || errors.Is(err, naming.ErrMistyped) {
			t.Errorf("Which(%q): %v, want ErrNotFound", typed, err)
		}
	}
	for _, typed := range []string{"M-9..M-3", "M-1..C-3", "..", "M..N"} {
		if got, err := b.Which(ctx, []string{typed}); err == nil {
			t.Errorf("Which(%q) = %q, want an error", typed, got)
		}
	}
}
