package report

import (
	"image"
	"testing"

	"pgregory.net/rapid"
)

// A card close above the bloom: its name has no room above and goes beside it,
// and the petals' name does not lie on the card.
func TestPinPlace(t *testing.T) {
	size, label := image.Pt(620, 465), image.Pt(50, 24)
	card, petals := image.Rect(170, 22, 260, 96), image.Rect(130, 104, 355, 330)
	for _, c := range []struct {
		what  string
		of    image.Rectangle
		avoid []image.Rectangle
		want  image.Point
	}{
		{"petals alone", petals, nil, image.Pt(217, 74)},
		{"card, no room above or below", card, []image.Rectangle{petals}, image.Pt(266, 47)},
		{"petals under the card", petals, []image.Rectangle{card}, image.Pt(217, 336)},
		{"all of the picture", image.Rect(-5, -5, 700, 500), nil, image.Pt(322, 439)},
		{"at the left edge", image.Rect(-20, 200, 10, 300), nil, image.Pt(2, 170)},
	} {
		if got, ok := pinPlace(c.of, label, size, c.avoid); !ok || got.Min != c.want {
			t.Errorf("%s: at %v, %v, want %v", c.what, got.Min, ok, c.want)
		}
	}
	if _, ok := pinPlace(card, label, image.Pt(40, 465), nil); ok {
		t.Error("a label of 50 pixels has a place in a picture of 40")
	}
}

// Wherever a thing lies, its label is whole and inside the picture.
func TestPinPlaceInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		box := func(name string) image.Rectangle {
			n := func(s string) int { return rapid.IntRange(-100, 700).Draw(t, name+s) }
			return image.Rect(n(" x0"), n(" y0"), n(" x1"), n(" y1"))
		}
		size := image.Pt(rapid.IntRange(60, 700).Draw(t, "w"), rapid.IntRange(30, 500).Draw(t, "h"))
		got, ok := pinPlace(box("thing"), image.Pt(50, 24), size, []image.Rectangle{box("other")})
		if !ok || got.Size() != image.Pt(50, 24) || !got.In(image.Rectangle{Max: size}) {
			t.Fatalf("label at %v, %v in a picture of %v", got, ok, size)
		}
	})
}
