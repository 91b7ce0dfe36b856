package garden

import (
	"math"
	"strings"
	"testing"
	"time"

	"hueward/selection/book"
)

// 80 % and half of it in 5 years are 32 % after 6, by hand. Old seed is warned of at sowing with what is likely to
// come of it; new seed is not; a bad
// germination test is, whatever the age; and weights are seeds by the packet's own count
// before the crop's.
func TestSeedAge(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	day := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	packet := func(made time.Time, tests ...book.GerminationTest) *book.Packet {
		k, err := p.AddPacket(ctx, book.Packet{Line: "buff", Season: "2020", FounderGroup: "mixed", Seeds: new(100), Made: made})
		p.ok(err)
		for _, x := range tests {
			_, _, err = p.StartTest(ctx, k.Name, x)
			p.ok(err)
			k, err = p.ReadTest(ctx, k.Name, x.Sprouted, x.Started.AddDate(0, 0, 10), "")
			p.ok(err)
		}
		return k
	}
	old := packet(day.AddDate(-6, 0, 0))
	if _, ok, err := AgeOf(ctx, p.Book, old, day); ok || err != nil {
		t.Errorf("a line without a crop has an age: %v, %v", ok, err)
	}
	if _, err := SeedsIn(ctx, p.Book, 2, "buff", nil); err == nil || !strings.Contains(err.Error(), "no crop yet") {
		t.Errorf("a weight without a crop: %v", err)
	}
	p.ok(p.SetLineCrop(ctx, "buff", "calendula")) // 5 years, 80 % when new, 120 seeds in a gram
	a, _, err := AgeOf(ctx, p.Book, old, day)
	p.ok(err)
	if !a.Old || math.Abs(a.Years-6) > 0.01 || a.Expected >= 0.4 || a.Expected < 0.2 || !a.SowBy.Equal(day.AddDate(-1, 0, 0)) {
		t.Errorf("six years old: %+v", a)
	}
	if w := a.Warning(old.Name, 50); !strings.Contains(w, "is 6 years old: about 32 % of its seed is likely to sprout") ||
		!strings.Contains(w, "so 16 of 50 seeds; sow more") {
		t.Errorf("warning %q", w)
	}
	if a, _, _ := AgeOf(ctx, p.Book, packet(day.AddDate(0, -8, 0)), day); a.Warning("P", 50) != "" {
		t.Errorf("new seed is warned of: %+v", a)
	}
	bad := packet(day.AddDate(0, -8, 0), book.GerminationTest{Started: day.AddDate(0, -1, 0), Seeds: 50, Sprouted: 5})
	if a, _, _ := AgeOf(ctx, p.Book, bad, day); !a.Tested || !strings.Contains(a.Warning(bad.Name, 50), "by its germination test") {
		t.Errorf("a bad test: %+v", a)
	}
	if n, err := SeedsIn(ctx, p.Book, 2.5, "buff", nil); err != nil || n != 300 {
		t.Errorf("2.5 g of calendula: %d, %v", n, err)
	}
	if n, err := SeedsIn(ctx, p.Book, 0.5, "buff", &book.Packet{Seeds: new(90), Grams: 1}); err != nil || n != 45 {
		t.Errorf("half a gram of 90 in one: %d, %v", n, err)
	}
	if n, err := SeedsIn(ctx, p.Book, 0.001, "buff", nil); err == nil || !strings.Contains(err.Error(), "less than half a seed") {
		t.Errorf("a milligram of calendula: %d, %v", n, err)
	}
}
