package report

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

// drawing is a chart as a reader's program sees it: read back from the page.
type drawing struct {
	xTicks, yTicks map[float64]float64 // value: position
	plants         map[string][2]float64
	target         [2]float64
	tolerance      [][2]float64
	band           [2]float64
	names          map[string]bool
	titles         map[string]string
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func num(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.ReplaceAll(s, "−", "-"), 64)
	check(t, err)
	return v
}

// readChart parses the chart whose ids begin with id.
func readChart(t *testing.T, page, id string) drawing {
	t.Helper()
	var svg string
	for _, s := range regexp.MustCompile(`(?s)<svg class="chart".*?</svg>`).FindAllString(page, -1) {
		if strings.Contains(s, `id="`+id+`-title"`) {
			svg = s
		}
	}
	d := drawing{xTicks: map[float64]float64{}, yTicks: map[float64]float64{}, plants: map[string][2]float64{}, names: map[string]bool{},
		titles: map[string]string{}}
	dec := xml.NewDecoder(strings.NewReader(svg))
	plant := ""
	for {
		tok, err := dec.Token()
		if tok == nil {
			if err.Error() != "EOF" {
				t.Fatalf("chart %s: %v", id, err)
			}
			break
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			if end, ok := tok.(xml.EndElement); ok && end.Name.Local == "g" {
				plant = ""
			}
			continue
		}
		class := attr(e, "class")
		text := func() string {
			var s string
			check(t, dec.DecodeElement(&s, &e))
			return s
		}
		switch {
		case e.Name.Local == "g" && attr(e, "data-plant") != "":
			plant = attr(e, "data-plant")
		case e.Name.Local == "title" && plant != "":
			d.titles[plant] = text()
		case class == "tick":
			x, y, end := num(t, attr(e, "x")), num(t, attr(e, "y")), attr(e, "text-anchor") == "end"
			if v := num(t, text()); end {
				d.yTicks[v] = y
			} else {
				d.xTicks[v] = x
			}
		case strings.HasPrefix(class, "name"):
			d.names[text()] = true
		case class == "plant" && e.Name.Local == "circle":
			d.plants[plant] = [2]float64{num(t, attr(e, "cx")), num(t, attr(e, "cy"))}
		case class == "plant" && e.Name.Local == "polygon":
			f := strings.FieldsFunc(attr(e, "points"), func(r rune) bool { return r == ' ' || r == ',' })
			d.plants[plant] = [2]float64{num(t, f[0]), num(t, f[3])} // of the top, and of the right corner
		case class == "target":
			d.target = [2]float64{num(t, attr(e, "cx")), num(t, attr(e, "cy"))}
		case class == "tolerance" && e.Name.Local == "path":
			for _, p := range strings.FieldsFunc(attr(e, "d"), func(r rune) bool { return strings.ContainsRune("MLZ", r) }) {
				x, y, _ := strings.Cut(p, " ")
				d.tolerance = append(d.tolerance, [2]float64{num(t, x), num(t, y)})
			}
		case class == "tolerance":
			x := num(t, attr(e, "x"))
			d.band = [2]float64{x, x + num(t, attr(e, "width"))}
		case class == "cross" && d.target[0] == 0: // the strip's target is a line
			if m := regexp.MustCompile(`^M([\d.]+) [\d.]+V[\d.]+$`).FindStringSubmatch(attr(e, "d")); m != nil {
				d.target[0] = num(t, m[1])
			}
		}
	}
	return d
}

// scale is the line through the two ticks farthest apart: how many pixels a
// unit is, and a function from a position to the value.
func scale(t *testing.T, ticks map[float64]float64) (unit float64, value func(float64) float64) {
	t.Helper()
	low, high := math.Inf(1), math.Inf(-1)
	for v := range ticks {
		low, high = min(low, v), max(high, v)
	}
	if len(ticks) < 3 {
		t.Fatalf("ticks = %v, want at least 3", ticks)
	}
	unit = (ticks[high] - ticks[low]) / (high - low)
	return unit, func(p float64) float64 { return low + (p-ticks[low])/unit }
}

// Read against the printed ticks, target and plants lie at their colours, a*
// and b* have one scale, and each point of the tolerance line is as far from
// the target as the tolerance says.
func TestChartPositions(t *testing.T) {
	s := garden(24, 0)
	s.Plants[0].Lab.A = -8 // a greenish one, left of zero
	page := htmlOf(t, s)
	for _, width := range []string{"wide", "narrow"} {
		ab := readChart(t, page, width+"-ab")
		ux, a := scale(t, ab.xTicks)
		uy, b := scale(t, ab.yTicks)
		if math.Abs(ux+uy) > 0.02 { // y grows downward
			t.Errorf("%s: a* has %.3f px a unit and b* %.3f", width, ux, -uy)
		}
		const off = 0.15 // units: positions are written to 0.1 px
		near := func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got-want) <= off) {
				t.Errorf("%s: %s = %.2f, want %.2f ± %.2f", width, what, got, want, off)
			}
		}
		near("target a*", a(ab.target[0]), 16)
		near("target b*", b(ab.target[1]), 36)
		if len(ab.tolerance) < 90 {
			t.Errorf("%s: the tolerance line has %d points", width, len(ab.tolerance))
		}
		for _, p := range ab.tolerance {
			near("tolerance line, Delta E 2000", cie.DeltaE2000(buff, cie.Lab{L: 76, A: a(p[0]), B: b(p[1])}), 4)
		}

		strip := readChart(t, page, width+"-l")
		_, l := scale(t, strip.xTicks)
		near("target L*", l(strip.target[0]), 76)
		near("darkest within, Delta E 2000", cie.DeltaE2000(buff, cie.Lab{L: l(strip.band[0]), A: 16, B: 36}), 4)
		near("lightest within, Delta E 2000", cie.DeltaE2000(buff, cie.Lab{L: l(strip.band[1]), A: 16, B: 36}), 4)

		for _, p := range s.Plants {
			near(p.ID+" a*", a(ab.plants[p.ID][0]), p.Lab.A)
			near(p.ID+" b*", b(ab.plants[p.ID][1]), p.Lab.B)
			near(p.ID+" L*", l(strip.plants[p.ID][0]), p.Lab.L)
			if p.Advice != Pass && !ab.names[p.ID] {
				t.Errorf("%s: %s, advice %s, has no name in the chart", width, p.ID, p.Advice)
			}
			if !strings.HasPrefix(ab.titles[p.ID], p.ID+", "+AdviceWord(p.Advice)) {
				t.Errorf("%s: title of %s = %q", width, p.ID, ab.titles[p.ID])
			}
		}
	}
}

// However the plants lie, no name covers another name or any mark, and all
// stay inside the plot; marks of the strip do
// not cover one another, as far as they find room.
func TestChartNamesClear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &Season{Target: Target{Lab: buff, Within: rapid.Float64Range(0, 8).Draw(t, "within")}}
		n := rapid.IntRange(0, 40).Draw(t, "n")
		spread := rapid.Float64Range(0.1, 30).Draw(t, "spread")
		for i := range n {
			u := func(what string) float64 { return spread * rapid.Float64Range(-1, 1).Draw(t, what) }
			s.Plants = append(s.Plants, Plant{
				ID:     fmt.Sprintf("%s%d", rapid.SampledFrom([]string{"M", "cosmos-", "Ringelblume "}).Draw(t, "id"), i),
				Lab:    cie.Lab{L: 76 + u("L")/2, A: 16 + u("a"), B: 36 + u("b")},
				Advice: rapid.SampledFrom([]string{Keep, Reserve, Pass}).Draw(t, "advice"),
			})
		}
		ab := newChartAB(s, "x", 340, 360)
		clear(t, ab.Marks, &ab.TargetLabel, box{float64(ab.X0), float64(ab.Y0), float64(ab.X1), float64(ab.Y1)})
		l := newStripL(s, "y", 340)
		clear(t, l.Marks, nil, box{float64(l.X0), float64(l.Y0), float64(l.X1), float64(l.Y1)})
		outside := func(m mark) bool { return math.Abs(float64(m.Y-(l.Y0+l.Y1)/2)) > swarmMost }
		for i, m := range l.Marks {
			for _, o := range l.Marks[:i] {
				if d := math.Hypot(float64(m.X-o.X), float64(m.Y-o.Y)); d < m.outer+o.outer && !outside(m) && !outside(o) {
					t.Fatalf("strip: %s and %s are %.1f px apart", m.ID, o.ID, d)
				}
			}
		}
	})
}

func clear(t *rapid.T, marks []mark, more *label, area box) {
	const size = 13
	var names []box
	add := func(l label) {
		if !l.Placed {
			return
		}
		// 0.6 of the type's size a letter, and its height, by rule of thumb.
		w, x, y := 0.6*size*float64(len([]rune(l.Text))), float64(l.X), float64(l.Y)
		b := box{x - w/2, y - size/2, x + w/2, y + size/2}
		if !b.inside(area) {
			t.Fatalf("name %q at %v is outside %v", l.Text, b, area)
		}
		for _, o := range names {
			if b.overlaps(o) {
				t.Fatalf("name %q at %v covers another at %v", l.Text, b, o)
			}
		}
		for _, m := range marks {
			r := float64(m.R)
			if b.overlaps(box{float64(m.X) - r, float64(m.Y) - r, float64(m.X) + r, float64(m.Y) + r}) {
				t.Fatalf("name %q at %v covers the mark of %s", l.Text, b, m.ID)
			}
		}
		names = append(names, b)
	}
	for _, m := range marks {
		add(m.Label)
	}
	if more != nil {
		add(*more)
	}
}

func TestGridStep(t *testing.T) {
	for _, c := range []struct{ unit, gap, want float64 }{
		{0.01, 50, 1}, {0.02, 50, 1}, {0.03, 50, 2}, {0.09, 50, 5}, {0.15, 50, 10}, {0.3, 50, 20}, {1.5, 50, 100},
	} {
		if got := gridStep(c.unit, c.gap); got != c.want {
			t.Errorf("gridStep(%v, %v) = %v, want %v", c.unit, c.gap, got, c.want)
		}
	}
}
