package book_test

import (
	"context"
	"math"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// TestPair: of flamed petals the colour that ranks is the one that answers the target's
// first, whichever covers more; without a second target it is the largest.
func TestPair(t *testing.T) {
	t.Parallel()
	yellow, red, brown := colorimg.Triple{80, 5, 75}, colorimg.Triple{45, 60, 40}, colorimg.Triple{30, 15, 20}
	reading := func(c ...colorimg.Triple) book.Reading {
		m := &colorimg.Reading{}
		for i, x := range c {
			m.Colors = append(m.Colors, colorimg.Share{Lab: x, Share: 1 / float64(i+2)})
		}
		lab := c[0]
		m.Lab = &lab
		return book.Reading{Plant: "T-1", Measured: *m}
	}
	one := &book.Target{Lab: cie.Lab{L: 78, A: 8, B: 70}}
	two := &book.Target{Lab: one.Lab, Second: &cie.Lab{L: 47, A: 58, B: 38}}
	for _, c := range []struct {
		name          string
		target        *book.Target
		in            []colorimg.Triple
		first, second colorimg.Triple
	}{
		{"yellow covers more", two, []colorimg.Triple{yellow, red}, yellow, red},
		{"red covers more", two, []colorimg.Triple{red, yellow}, yellow, red},
		{"a third colour", two, []colorimg.Triple{brown, red, yellow}, yellow, red},
		{"one target", one, []colorimg.Triple{red, yellow}, red, yellow},
	} {
		r := reading(c.in...)
		c.target.Pair(&r)
		if *r.Measured.Lab != c.first || r.Measured.Colors[0].Lab != c.first || r.Measured.Colors[1].Lab != c.second {
			t.Errorf("%s: ranks by %v, second %v; want %v, %v", c.name, *r.Measured.Lab, r.Measured.Colors[1].Lab, c.first, c.second)
		}
		if len(r.Measured.Colors) != len(c.in) {
			t.Errorf("%s: %d colours, want %d", c.name, len(r.Measured.Colors), len(c.in))
		}
	}
	shading := reading(yellow, red)
	shading.Measured.Lab = &colorimg.Triple{62, 33, 57} // the middle
	if one.Pair(&shading); *shading.Measured.Lab != (colorimg.Triple{62, 33, 57}) {
		t.Errorf("petals that shade from yellow to red rank by %v, want their middle", *shading.Measured.Lab)
	}
	if two.Pair(&shading); *shading.Measured.Lab != yellow {
		t.Errorf("with two targets petals that shade from yellow to red rank by %v, want %v", *shading.Measured.Lab, yellow)
	}
	rs := []book.Reading{reading(red, yellow), reading(yellow, red), reading(yellow)}
	rs[2].Plant = "T-2"
	two.PairAll(rs)
	got := two.SecondDeltaE(rs)
	if want := cie.DeltaE2000(red.Lab(), *two.Second); math.Abs(got["T-1"]-want) > 1e-9 || len(got) != 1 {
		t.Errorf("second colours lie %v from the target's, want T-1 alone, %v", got, want)
	}
}

// TestSecondTarget: the second shade is kept with the target and in its history.
func TestSecondTarget(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	second := cie.Lab{L: 47, A: 58, B: 38}
	must.OK(t, b.SetTarget(ctx, "marigold", book.Target{Lab: cie.Lab{L: 78, A: 8, B: 70}, Second: &second}))
	n, err := b.Line(ctx, "marigold")
	if err != nil || n.Target.Second == nil || *n.Target.Second != second {
		t.Errorf("second target: %+v, %v; want %v", n.Target, err, second)
	}
	booktest.Same(t, "second L* of the old target and the new", []string{"none", "47"},
		booktest.Column(t, booktest.DB(t, b), "SELECT coalesce(second_l, 'none') FROM target ORDER BY id"))
	if err := b.SetTarget(ctx, "marigold", book.Target{Lab: second, Second: &cie.Lab{L: math.NaN()}}); err == nil {
		t.Error("a second shade that is no number was taken")
	}
}
