package tag

import (
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/render/scenes"
)

// TestSheets holds that nothing printed on a sheet covers another thing or
// comes nearer to the paper's edge than printers reach.
func TestSheets(t *testing.T) {
	// ISO 216, from memory.
	paper := map[string][2]float64{"a5": {210, 148}, "a4": {297, 210}}
	if len(SheetNames()) != len(paper) {
		t.Errorf("sheets %v, want those of %v", SheetNames(), paper)
	}
	for _, name := range SheetNames() {
		s, ok := SheetNamed(name)
		if !ok || s.Width != paper[name][0] || s.Height != paper[name][1] {
			t.Errorf("SheetNamed(%s) = %v × %v, %v, want %v", name, s.Width, s.Height, ok, paper[name])
		}
		boxes := []Rect{s.Code, s.Card, {s.Bloom.X - s.Bloom.R, s.Bloom.Y - s.Bloom.R, 2 * s.Bloom.R, 2 * s.Bloom.R}}
		for _, m := range s.Marks {
			boxes = append(boxes, Rect{m[0] - s.MarkR, m[1] - s.MarkR, 2 * s.MarkR, 2 * s.MarkR})
		}
		const margin = 6.35 // what laser printers leave white at most: a quarter of an inch; common practice, no source
		for i, a := range boxes {
			if a.X < margin || a.Y < margin || a.X+a.W > s.Width-margin || a.Y+a.H > s.Height-margin {
				t.Errorf("sheet %s: box %d is too near to the edge: %v", name, i, a)
			}
			for _, b := range boxes[:i] {
				const gap = 3
				if i > 2 && b.W == 2*s.Bloom.R {
					continue // round things, held by the distance of their middles below
				}
				if a.X < b.X+b.W+gap && b.X < a.X+a.W+gap && a.Y < b.Y+b.H+gap && b.Y < a.Y+a.H+gap {
					t.Errorf("sheet %s: %v and %v are too near to each other", name, a, b)
				}
			}
		}
		for _, m := range s.Marks {
			if d := math.Hypot(m[0]-s.Bloom.X, m[1]-s.Bloom.Y) - s.Bloom.R - s.MarkR; d < 10 {
				t.Errorf("sheet %s: a mark is %.1f mm from the ring, want 10 or more for overhanging petals", name, d)
			}
		}
		if gap := s.Card.X - (s.Bloom.X + s.Bloom.R); gap < 5 || gap > 25 {
			t.Errorf("sheet %s: %.1f mm between ring and card, want them apart, yet in one light", name, gap)
		}
	}
	if _, ok := SheetNamed("a3"); ok {
		t.Error("there is a sheet a3")
	}
}

// worstCard is the largest distance of a corner of the card's box from where
// the camera sees it, as a share of the sheet's width in the photo.
func worstCard(l Located, c camera) float64 {
	worst, card := 0.0, l.Card()
	for i, q := range l.Sheet.Card.Corners() {
		p := c.sees(q)
		worst = max(worst, math.Hypot(card[i][0]-p[0], card[i][1]-p[1]))
	}
	a, b := c.sees([2]float64{0, l.Sheet.Height / 2}), c.sees([2]float64{l.Sheet.Width, l.Sheet.Height / 2})
	return worst / math.Hypot(a[0]-b[0], a[1]-b[1])
}

func codeCorners(s Sheet, c camera, sd float64, rnd *rand.Rand) (q [4][2]float64) {
	for i, p := range s.Code.Corners() {
		q[i] = c.sees(p)
		q[i][0] += sd * rnd.NormFloat64()
		q[i][1] += sd * rnd.NormFloat64()
	}
	return q
}

// TestRefine photographs sheets from all sides. The code's corners are given
// with an error of 1 % of its width. Asked: the card's corners within 1.5 % of
// the sheet's width at a tilt of 20°.
func TestRefine(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		sheet  string
		width  int
		tilt   float64 // degrees
		hide   []int
		marks  int
		within float64 // card corners, share of the sheet's width
		scale  float64 // pixels a millimetre, relative
	}{
		{"A5 from above", "a5", 1000, 0, nil, 4, 0.002, 0.005},
		{"A5 at 20°", "a5", 1000, 20, nil, 4, 0.002, 0.005},
		{"A5 at 20°, small", "a5", 500, 20, nil, 4, 0.003, 0.005},
		{"A5 at 35°", "a5", 1000, 35, nil, 4, 0.002, 0.005},
		{"A4 at 20°", "a4", 1000, 20, nil, 4, 0.002, 0.005},
		{"A5 at 20°, a thumb on one mark", "a5", 1000, 20, []int{0}, 3, 0.004, 0.02},
		{"A5 at 20°, another", "a5", 1000, 20, []int{1}, 3, 0.015, 0.05},
		{"A5 at 20°, two marks hidden", "a5", 1000, 20, []int{0, 3}, 2, 0.015, 0.05},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := SheetNamed(c.sheet)
			p := drawnPaper(t, s, false, c.hide...)
			var errs, guess, told []float64
			t.Parallel()
			for seed := range scenes.Count(2, 8) {
				rnd := rand.New(rand.NewPCG(uint64(seed), 1))
				cam := newCamera(s, c.width, c.width*3/4, c.tilt*math.Pi/180, 2*math.Pi*rnd.Float64(),
					math.Pi/2*float64(seed%4)+0.5*rnd.Float64()-0.25, 0.62)
				im := cam.photograph(p, 0.3, 4, rnd)
				side := 0.01 * s.Code.W * float64(c.width) * 0.62 / s.Width
				corners := codeCorners(s, cam, side, rnd)
				l, ok := s.Refine(lumaOf(im), corners)
				if !ok || l.Marks != c.marks {
					t.Errorf("seed %d: %d marks found, %v, want %d", seed, l.Marks, ok, c.marks)
					continue
				}
				e := worstCard(l, cam)
				if e > c.within {
					t.Errorf("seed %d: a card corner is off by %.4f of the sheet's width, want ≤ %.4f", seed, e, c.within)
				}
				errs, told = append(errs, e), append(told, l.ErrorMM/s.Width)
				first, ok := s.Locate(corners)
				if !ok {
					t.Fatalf("seed %d: Locate sees no sheet", seed)
				}
				guess = append(guess, worstCard(first, cam))

				x0, y0, x1, y1 := l.Window(1.15)
				for i := range 360 { // the box holds the ring enlarged, but for what two marks leave open; and no mark
					sin, cos := math.Sincos(float64(i) * math.Pi / 180)
					q := cam.sees([2]float64{s.Bloom.X + 1.05*s.Bloom.R*cos, s.Bloom.Y + 1.05*s.Bloom.R*sin})
					if c.marks > 2 && !(q[0] > x0 && q[0] < x1 && q[1] > y0 && q[1] < y1) {
						t.Fatalf("seed %d: %.0f is outside the window %.0f, %.0f to %.0f, %.0f", seed, q, x0, y0, x1, y1)
					}
				}
				for _, m := range s.Marks {
					if q := cam.sees(m); c.tilt <= 20 && q[0] > x0 && q[0] < x1 && q[1] > y0 && q[1] < y1 {
						t.Errorf("seed %d: the mark at %.0f is in the window %.0f, %.0f to %.0f, %.0f", seed, q, x0, y0, x1, y1)
					}
				}

				middle, radius := l.Bloom()
				want := cam.sees([2]float64{s.Bloom.X, s.Bloom.Y})
				if d := math.Hypot(middle[0]-want[0], middle[1]-want[1]) / l.PixelsPerMM(); d > 2*c.within*s.Width {
					t.Errorf("seed %d: the ring's middle is off by %.2f mm", seed, d)
				}
				// The scale against the camera's own, from two small steps.
				ex, ey := cam.sees([2]float64{s.Bloom.X + 0.1, s.Bloom.Y}), cam.sees([2]float64{s.Bloom.X, s.Bloom.Y + 0.1})
				area := math.Abs((ex[0]-want[0])*(ey[1]-want[1])-(ex[1]-want[1])*(ey[0]-want[0])) / 0.01
				if r := l.PixelsPerMM() / math.Sqrt(area); math.Abs(r-1) > c.scale || math.Abs(radius/l.PixelsPerMM()-s.Bloom.R) > 1e-9 {
					t.Errorf("seed %d: %.3f times the camera's pixels a millimetre, want 1 ± %.3f", seed, r, c.scale)
				}
			}
			if len(errs) == 0 {
				t.Fatal("no sheet was found")
			}
			t.Logf("card corner off by %.4f at most of the sheet's width, %.4f by the code alone; foretold for card and ring %.4f",
				slices.Max(errs), slices.Max(guess), slices.Max(told))
		})
	}
}

// TestRefineNothing: without a sheet in the picture no mark is found, and the
// code's own guess remains.
func TestRefineNothing(t *testing.T) {
	t.Parallel()
	s, _ := SheetNamed("a5")
	rnd := rand.New(rand.NewPCG(5, 5))
	cam := newCamera(s, 800, 600, 0.2, 1, 0.3, 0.6)
	corners := codeCorners(s, cam, 0, rnd)
	im := image.NewGray(image.Rect(0, 0, 800, 600))
	for i := range im.Pix {
		im.Pix[i] = uint8(rnd.UintN(256))
	}
	for name, luma := range map[string]Luma{
		"noise":   lumaOf(im),
		"black":   func(x, y float64) float64 { return 0 },
		"outside": func(x, y float64) float64 { return math.NaN() },
		"slope":   func(x, y float64) float64 { return x },
	} {
		l, ok := s.Refine(luma, corners)
		if !ok || l.Marks != 0 {
			t.Errorf("%s: %d marks found, %v, want 0", name, l.Marks, ok)
		}
		if e := worstCard(l, cam); e > 1e-6 {
			t.Errorf("%s: a card corner is off by %g, want the code's own guess, exact here", name, e)
		}
		if l.ErrorMM < 1 {
			t.Errorf("%s: error foretold %.2f mm, want more than 1 without marks", name, l.ErrorMM)
		}
	}
}

// TestLocateAnything: whatever the corners, no panic, and no sheet from what
// is not seen from its printed side.
func TestLocateAnything(t *testing.T) {
	t.Parallel()
	s, _ := SheetNamed("a4")
	if _, ok := s.Locate([4][2]float64{{0, 0}, {0, 10}, {10, 10}, {10, 0}}); ok {
		t.Error("a sheet seen from behind is located")
	}
	if _, ok := s.Locate([4][2]float64{}); ok {
		t.Error("a sheet of no size is located")
	}
	if _, ok := s.Locate([4][2]float64{{0, 0}, {1, 1}, {2, 2}, {3, 3}}); ok {
		t.Error("a sheet seen edge-on is located")
	}
	if _, ok := s.Locate([4][2]float64{{0.002, -58}, {1.9, 0}, {0, 0}, {0, -1e-9}}); ok {
		t.Error("a sheet of which two corners are one is located")
	}
	rapid.Check(t, func(t *rapid.T) {
		var c [4][2]float64
		for i := range c {
			any := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1e4, 1e4))
			c[i] = [2]float64{any.Draw(t, "x"), any.Draw(t, "y")}
		}
		l, ok := s.Refine(func(x, y float64) float64 { return math.Mod(x*y, 7) }, c)
		if !ok {
			return
		}
		extent := 0.0
		for i := range c {
			for j := range c {
				extent = max(extent, math.Hypot(c[i][0]-c[j][0], c[i][1]-c[j][1]))
			}
		}
		for i, p := range s.Code.Corners() { // what it says holds for where it comes from
			q := l.Point(p[0], p[1])
			if d := math.Hypot(q[0]-c[i][0], q[1]-c[i][1]); l.Marks == 0 && extent < 1e5 && !(d < 1e-3*extent) {
				t.Fatalf("corner %d located at %v, given at %v", i, q, c[i])
			}
		}
	})
}

// TestCardMissing: white paper in the box is told from a card, also where the
// sheet is small in the photo or in uneven light.
func TestCardMissing(t *testing.T) {
	t.Parallel()
	for _, name := range SheetNames() {
		s, _ := SheetNamed(name)
		for _, missing := range []bool{false, true} {
			p := drawnPaper(t, s, missing)
			for seed := range scenes.Count(2, 4) {
				rnd := rand.New(rand.NewPCG(uint64(seed), 2))
				width := []int{600, 1000}[seed%2]
				cam := newCamera(s, width, width*3/4, 0.05*float64(seed), 6*rnd.Float64(), 6*rnd.Float64(), 0.55)
				luma := lumaOf(cam.photograph(p, 0.3, 4, rnd))
				l, ok := s.Refine(luma, codeCorners(s, cam, 0.01*s.Code.W*float64(width)*0.55/s.Width, rnd))
				if got := l.CardMissing(luma); !ok || got != missing {
					t.Errorf("%s, seed %d: CardMissing = %v, want %v", name, seed, got, missing)
				}
			}
		}
	}
}

// BenchmarkRefine finds a sheet in a picture of 1000 pixels, all marks in sight
// and one of them hidden.
func BenchmarkRefine(b *testing.B) {
	s, _ := SheetNamed("a5")
	for name, hidden := range map[string][]int{"whole": nil, "hidden": {1}} {
		b.Run(name, func(b *testing.B) {
			rnd := rand.New(rand.NewPCG(1, 3))
			cam := newCamera(s, 1000, 750, 0.3, 1, 0.2, 0.62)
			luma := lumaOf(cam.photograph(drawnPaper(b, s, false, hidden...), 0.3, 4, rnd))
			corners := codeCorners(s, cam, 1, rnd)
			for b.Loop() {
				if l, ok := s.Refine(luma, corners); !ok || l.Marks != 4-len(hidden) {
					b.Fatalf("%d marks, %v", l.Marks, ok)
				}
			}
		})
	}
}
