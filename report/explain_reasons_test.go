package report

import (
	"image/color"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg"
)

// Every reason that a pixel can have has its own name and its own pattern, so
// that none is told by its tint alone.
func TestReasonLooksDiffer(t *testing.T) {
	for v := colorimg.Read; v <= colorimg.Rim; v++ {
		a := lookOf(v)
		if a.name == "" || len(a.name) > 30 || a.name[:1] == "r" && v <= colorimg.Rim && a.name == "reason "+number(float64(v), 0) {
			t.Errorf("reason %d is called %q", v, a.name)
		}
		for w := v + 1; w <= colorimg.Rim; w++ {
			b := lookOf(w)
			if a.name == b.name {
				t.Errorf("reasons %d and %d are both called %q", v, w, a.name)
			}
			differ := 0
			for i := range 56 * 56 {
				x, y := i%56, i/56
				if (a.inked != nil && a.inked(x, y)) != (b.inked != nil && b.inked(x, y)) {
					differ++
				}
			}
			if share := float64(differ) / (56 * 56); share < 0.2 {
				t.Errorf("the patterns of %q and %q differ on %.0f %% of the pixels, want at least 20 %%", a.name, b.name, 100*share)
			}
		}
	}
}

// Eight bands of 25 columns: two of them count, the others have a reason each;
// and of three unknown reasons each has a row.
func TestLegendRows(t *testing.T) {
	type row struct {
		Name  string
		Share float64
	}
	for _, c := range []struct {
		name string
		rule func(x, y int) colorimg.Reason
		want []row
	}{
		{"bands", bands, []row{{"counts", 0.25}, {"too near the petals’ edge", 0.125}, {"disc florets", 0.125}, {"too bright to read", 0.125},
			{"in deep shadow", 0.125}, {"withered", 0.25}}},
		{"unknown", func(x, y int) colorimg.Reason {
			return []colorimg.Reason{colorimg.Read, 21, 41, 61}[min(max(x/100, 0), 3)]
		},
			[]row{{"counts", 0.25}, {"reason 21", 0.25}, {"reason 41", 0.25}, {"reason 61", 0.25}}},
		{"ground", func(x, y int) colorimg.Reason { return colorimg.Ground }, nil},
	} {
		e := &explanation{r: &colorimg.Reading{Reasons: reasonsOf(c.rule)}}
		var got []row
		for _, r := range e.legendRows() {
			got = append(got, row{r.name, r.share})
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s: rows (-want +got):\n%s", c.name, d)
		}
	}
}

// In the near picture, pixels that count keep the photo's colour, and others
// are painted by their reason. The bloom of 2000 × 2000 has an edge of 120 all
// around; 2240 pixels are widened to the place's shape, 480 × 465, so that the
// photo's (x, y) is shown at 690 + (x − 844) × 480/2312 and
// 148 + (y − 280) × 465/2240.
func TestExplainMarksReasons(t *testing.T) {
	own := color.NRGBA{230, 170, 110, 255}
	r := apricot()
	r.Reasons = reasonsOf(bands)
	got := Explain(flat(800, 600, own), r)
	at := func(x, y float64) (int, int) {
		return int(690 + (x-843.9)*480/2312.3), int(148 + (y-280)*465/2240)
	}
	for i, v := range []colorimg.Reason{colorimg.Rim, colorimg.Read, colorimg.Read, colorimg.Disc, colorimg.Clipped, colorimg.Shadow,
		colorimg.Browned, colorimg.Browned} {
		x0, y0 := at(1000+250*float64(i)+125, 1400)
		seen := map[color.NRGBA]bool{}
		for dy := -6; dy <= 6; dy++ {
			for dx := -6; dx <= 6; dx++ {
				seen[got.NRGBAAt(x0+dx, y0+dy)] = true
			}
		}
		look := lookOf(v)
		want := map[color.NRGBA]bool{}
		for k := range 56 * 56 {
			want[look.paint(own, k%56, k/56)] = true
		}
		if d := cmp.Diff(want, seen); d != "" {
			t.Errorf("colours of %q (-want +got):\n%s", look.name, d)
		}
	}
	if x, y := at(900, 1400); got.NRGBAAt(x, y) != paleGround(own) {
		t.Errorf("beside the bloom = %v, want %v", got.NRGBAAt(x, y), paleGround(own))
	}
}

// The mask shows a hole in the petals as a hole: the inner loop runs the other
// way around. The photo is shown at 170 × 128 from (1000, 655).
func TestExplainMask(t *testing.T) {
	r := apricot()
	r.Petal.Outline = append(r.Petal.Outline, []colorimg.Point{{1600, 1000}, {1600, 1800}, {2400, 1800}, {2400, 1000}})
	got := Explain(flat(80, 60, color.NRGBA{1, 2, 3, 255}), r)
	for _, c := range []struct {
		what string
		x, y int // of the photo
		want color.NRGBA
	}{{"petals", 1300, 700, overlayLine}, {"petals", 2700, 2100, overlayLine}, {"hole", 2000, 1400, sheetInk},
		{"ground", 3800, 2800, sheetInk}} {
		x, y := 1000+c.x*170/4000, 655+c.y*128/3000
		if g := got.NRGBAAt(x, y); g != c.want {
			t.Errorf("the mask's %s at %d,%d = %v, want %v", c.what, x, y, g, c.want)
		}
	}
}

func TestUnwind(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct{ in, want []float64 }{
		{[]float64{350, 355, 2, 10, 358}, []float64{350, 355, 362, 370, 358}},
		{[]float64{10, 350, 200, 30}, []float64{10, -10, -160, -330}},
		{[]float64{nan, 359, nan, 1}, []float64{nan, 359, nan, 361}},
		{nil, []float64{}},
	} {
		got := unwind(c.in)
		for i := range c.want {
			if len(got) != len(c.want) || got[i] != c.want[i] && !(math.IsNaN(got[i]) && math.IsNaN(c.want[i])) {
				t.Errorf("unwind(%v) = %v, want %v", c.in, got, c.want)
				break
			}
		}
	}
}

// Whatever the text: a shortened line fits, keeps its beginning and end where
// it has room for both, and wrapped lines fit and lose no letter.
func TestSheetTextFits(t *testing.T) {
	s := newSheet(10, 10)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-zA-Z0-9 äöü_.\-]{0,120}`).Draw(t, "text")
		room := rapid.Float64Range(20, 600).Draw(t, "room")
		h := rapid.SampledFrom([]hand{handTitle, handText, handStrong, handSmall}).Draw(t, "hand")
		short := s.shorten(h, text, room)
		if w := s.width(h, short); w > room {
			t.Fatalf("shorten(%q, %.1f) = %q, %.1f wide", text, room, short, w)
		}
		if s.width(h, text) <= room && short != text {
			t.Fatalf("shorten(%q, %.1f) = %q, want it as it is", text, room, short)
		}
		letters := func(s string) string {
			out := ""
			for _, r := range s {
				if r != ' ' {
					out += string(r)
				}
			}
			return out
		}
		all := ""
		for _, line := range s.wrap(h, text, max(room, 40)) {
			if w := s.width(h, line); w > max(room, 40) {
				t.Fatalf("wrap(%q, %.1f) has the line %q, %.1f wide", text, room, line, w)
			}
			all += line
		}
		if letters(all) != letters(text) {
			t.Fatalf("wrap(%q) has the letters %q", text, letters(all))
		}
	})
}

func TestExplainWords(t *testing.T) {
	for _, c := range []struct{ what, got, want string }{
		{"smallPercent(0)", smallPercent(0), "0.0\u00a0%"},
		{"smallPercent(0.0004)", smallPercent(0.0004), "<\u00a00.1\u00a0%"},
		{"smallPercent(0.0234)", smallPercent(0.0234), "2.3\u00a0%"},
		{"smallPercent(0.0996)", smallPercent(0.0996), "10\u00a0%"},
		{"smallPercent(1)", smallPercent(1), "100\u00a0%"},
		{"smallPercent(NaN)", smallPercent(math.NaN()), "–"},
		{"whole(640)", whole(640), "640"},
		{"whole(4032)", whole(4032), "4032"},
		{"whole(12345678)", whole(12345678), "12\u00a0345\u00a0678"},
		{"signed(0.31)", signed(0.31, 1), "+0.3"},
		{"signed(-0.31)", signed(-0.31, 1), "−0.3"},
		{"signed(0.01)", signed(0.01, 1), "0.0"},
		{"capital", capital("über"), "Über"},
		{"capital of nothing", capital(""), ""},
	} {
		if c.got != c.want {
			t.Errorf("%s = %q, want %q", c.what, c.got, c.want)
		}
	}
}
