package book

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A wrong digit and two swapped neighbours are always told.
func TestCheckLetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"", "X", "P", "S"}).Draw(t, "kind") + fmt.Sprintf("%02d-%03d", rapid.IntRange(0, 99).Draw(t, "season"), rapid.IntRange(0, 99999).Draw(t, "n"))
		letter := CheckLetter(name)
		if !strings.ContainsRune(checkLetters, rune(letter)) {
			t.Fatalf("letter %q", letter)
		}
		for i := range name {
			if name[i] < '0' || name[i] > '9' {
				continue
			}
			for d := byte('0'); d <= '9'; d++ {
				if other := name[:i] + string(d) + name[i+1:]; d != name[i] && CheckLetter(other) == letter {
					t.Fatalf("%s and %s both have %c", name, other, letter)
				}
			}
			if i+1 < len(name) && name[i+1] >= '0' && name[i+1] <= '9' && name[i+1] != name[i] {
				if other := name[:i] + string(name[i+1]) + string(name[i]) + name[i+2:]; CheckLetter(other) == letter {
					t.Fatalf("%s and %s both have %c", name, other, letter)
				}
			}
		}
	})
}

func TestWhich(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	made := "26-014" + string(CheckLetter("26-014"))
	for _, id := range []string{"M-1", "M-2", "M-3", "M-10", "26-9", made} {
		if err := b.AddPlant(ctx, Plant{ID: id, Line: "marigold", Season: "2026"}); err != nil {
			t.Fatal(err)
		}
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
	if _, err := b.Which(ctx, []string{wrong}); !errors.Is(err, ErrNotFound) || !errors.Is(err, ErrMistyped) {
		t.Errorf("Which(%q): %v, want ErrMistyped", wrong, err)
	}
	for _, typed := range []string{"M-4", "M-4..M-9", "26-015"} {
		if _, err := b.Which(ctx, []string{typed}); !errors.Is(err, ErrNotFound) || errors.Is(err, ErrMistyped) {
			t.Errorf("Which(%q): %v, want ErrNotFound", typed, err)
		}
	}
	for _, typed := range []string{"M-9..M-3", "M-1..C-3", "..", "M..N"} {
		if got, err := b.Which(ctx, []string{typed}); err == nil {
			t.Errorf("Which(%q) = %q, want an error", typed, got)
		}
	}
}
