package calendar

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func on(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// The frost that counts is the nearest, on both halves of the earth.
func TestNearestFrost(t *testing.T) {
	t.Parallel()
	for _, c := range [][3]string{
		{"0000-05-15", "2027-02-01", "2027-05-15"}, {"0000-05-15", "2026-11-20", "2027-05-15"}, {"0000-05-15", "2026-10-01", "2026-05-15"},
		{"0000-10-10", "2026-07-01", "2026-10-10"}, {"0000-10-10", "2027-01-20", "2026-10-10"},
	} {
		if got := NearestFrost(on(c[0]), on(c[1])); !got.Equal(on(c[2])) {
			t.Errorf("frost %s on %s: %s, want %s", c[0], c[1], got.Format(time.DateOnly), c[2])
		}
	}
}

// Sowing and planting out, counted from the last frost: zinnias are sown four to five
// weeks before they go out, a week after it; sweet peas go out four weeks before it.
func TestSowTasks(t *testing.T) {
	t.Parallel()
	zinnia, _ := Named("zinnia")
	pea, _ := Named("sweet-pea")
	g := &Garden{Frost: on("2027-05-15"), Crops: map[string]Crop{"z": zinnia, "p": pea},
		Packets: []Packet{{Name: "P1", Line: "z", Ripe: true, Left: true}, {Name: "P2", Line: "z", Ripe: true, Left: true},
			{Name: "P3", Line: "z", Ripe: true, Left: true, Sown: true}, {Name: "P4", Line: "z", Left: true}, {Name: "P5", Line: "z", Ripe: true},
			{Name: "P6", Line: "p", Ripe: true, Left: true}, {Name: "P7", Line: "no crop", Ripe: true, Left: true}},
		Sowings: []Sowing{{Name: "S1", Line: "z", Sown: on("2027-04-20"), Plants: 3}, {Name: "S2", Line: "z", Sown: on("2027-04-20"), Out: true},
			{Name: "S3", Line: "z", Sown: on("2027-05-20"), Plants: 3}, {Name: "S4", Line: "p", Sown: on("2027-09-01"), Plants: 2}}}
	told := func(day string, kinds ...Kind) (out []string) {
		for _, task := range Due(g, on(day), 0) {
			for _, k := range kinds {
				if task.Kind == k {
					out = append(out, string(task.Urgency)+" "+string(k)+" "+strings.Join(task.Subjects, "+")+" "+task.Due.Format("0102")+".."+
						task.Until.Format("0102"))
				}
			}
		}
		return out
	}
	for _, c := range []struct {
		day  string
		want []string
	}{
		{"2027-01-15", nil},
		{"2027-02-21", []string{"today sow P6 0220..0306"}},
		{"2027-04-18", []string{"today sow P1+P2 0417..0424"}},
		{"2027-05-01", []string{"overdue sow P1+P2 0417..0424"}},
		{"2027-05-23", []string{"today plant-out S1 0522..0605"}},
		{"2027-06-18", []string{"overdue plant-out S1 0522..0605", "today plant-out S3 0617..0701"}},
	} {
		if d := cmp.Diff(c.want, told(c.day, Sow, PlantOut)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.day, d)
		}
	}
	g.Frost = time.Time{}
	if got := told("2027-04-18", Sow, PlantOut); got != nil {
		t.Errorf("without a frost: %q", got)
	}
}

// Seed is told of half a year before its time is over, and for a year after; not when it
// was sown or is used up.
func TestSowByTasks(t *testing.T) {
	t.Parallel()
	pansy, _ := Named("pansy") // two years
	p := Packet{Name: "P1", Line: "v", Made: on("2024-09-10"), Left: true}
	for _, c := range []struct {
		day  string
		f    func(*Packet)
		want Urgency
	}{
		{"2026-03-01", nil, ""}, {"2026-03-20", nil, Today}, {"2026-09-20", nil, Overdue}, {"2027-10-01", nil, ""},
		{"2026-03-20", func(p *Packet) { p.Left = false }, ""}, {"2026-03-20", func(p *Packet) { p.Sown = true }, ""},
		{"2026-03-20", func(p *Packet) { p.Made = time.Time{} }, ""},
	} {
		q := p
		if c.f != nil {
			c.f(&q)
		}
		got := Urgency("")
		for _, task := range Due(&Garden{Packets: []Packet{q}, Crops: map[string]Crop{"v": pansy}}, on(c.day), 0) {
			if got = task.Urgency; task.Kind != SowBy || !strings.Contains(task.Text, "by 2026-09-10") {
				t.Errorf("%s: %s %s", c.day, task.Kind, task.Text)
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.day, got, c.want)
		}
	}
}

// Pollen is dried, then used until its crop's days are over, or those said.
func TestPollenTasks(t *testing.T) {
	t.Parallel()
	snap, _ := Named("snapdragon") // a day to dry, then 60
	p := Pollen{Name: "L1", Line: "a", Plant: "A-1", Collected: july(1)}
	at := func(p Pollen, day int) string {
		s := ""
		for _, task := range Due(&Garden{Pollen: []Pollen{p}, Crops: map[string]Crop{"a": snap}}, july(day), 0) {
			s += string(task.Urgency) + " " + string(task.Kind) + " " + task.Until.Format("0102")
		}
		return s
	}
	dry := p
	dry.Dried = july(2)
	short := dry
	short.Until = july(10)
	for _, c := range []struct {
		p    Pollen
		day  int
		want string
	}{{p, 1, ""}, {p, 2, "today dry-pollen 0702"}, {p, 4, "overdue dry-pollen 0702"}, {dry, 3, "today use-pollen 0831"},
		{dry, 31 + 32, ""}, {short, 10, "today use-pollen 0710"}, {short, 11, ""}} {
		if got := at(c.p, c.day); got != c.want {
			t.Errorf("day %d of %+v: %q, want %q", c.day, c.p, got, c.want)
		}
	}
}
