package book_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/selection/book/booktest"
	"hueward/selection/book/naming"
	"hueward/selection/genetics"
)

// date is a day of July 2026.
func date(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }

// TestSeasonRecords draws whole seasons of records, sense and nonsense: what is
// refused changes nothing, what is done is undone to the very rows, and the book
// stays in order.
func TestSeasonRecords(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	first := booktest.New(t)
	for id, line := range map[string]string{"M-1": "marigold", "M-2": "marigold", "C-1": "cosmos"} {
		must.OK(t, first.AddPlant(ctx, Plant{ID: id, Line: line, Season: "2026"}))
	}
	from := first.Dir()
	first.Close()
	books, most := 0, 15
	if os.Getenv("HUEWARD_FULL") == "1" {
		most = math.MaxInt
	}
	rapid.Check(t, func(t *rapid.T) {
		if books++; books > most {
			return
		}
		to := filepath.Join(dir, fmt.Sprint(books))
		must.OK(t, os.CopyFS(to, os.DirFS(from)))
		b := must.Have(Open(ctx, to, booktest.Clock))(t)
		defer b.Close()
		pick := func(table string) string {
			query := fmt.Sprintf("SELECT name FROM %q UNION SELECT 'M-2' UNION SELECT 'nothing-1' ORDER BY 1", table)
			return rapid.SampledFrom(booktest.Column(t, b.DB(), query)).Draw(t, table)
		}
		day := func() time.Time { return date(rapid.IntRange(1, 12).Draw(t, "day")) }
		ops := []func() error{
			func() error {
				_, _, err := b.AddCross(ctx, Cross{SeedParent: pick("plant"), PollenParent: pick("plant"), Season: "2026", MadeOn: day(),
					Line: rapid.SampledFrom([]string{"", "marigold"}).Draw(t, "line")}, rapid.IntRange(0, 3).Draw(t, "heads"))
				return err
			},
			func() error {
				_, err := b.FixCross(ctx, pick("cross"), CrossFix{PollenParent: new(pick("plant"))})
				return err
			},
			func() error {
				d := HeadDone{Heads: []string{pick("head")}, Step: rapid.SampledFrom(HeadSteps).Draw(t, "step"), On: day(), Season: "2026"}
				if d.Step == HeadHarvest {
					d.Seeds = new(rapid.IntRange(0, 60).Draw(t, "seeds"))
				}
				_, _, err := b.DoHeads(ctx, d)
				return err
			},
			func() error {
				fix := HeadFix{Bagged: new(day()), NotPollinated: []time.Time{day()}, Note: new("a note")}
				_, err := b.FixHead(ctx, pick("head"), fix)
				return err
			},
			func() error {
				_, err := b.AddPacket(ctx, Packet{Heads: []string{pick("head")}, Made: day(), Season: "2026"})
				return err
			},
			func() error {
				_, err := b.AddPacket(ctx, Packet{FounderGroup: "orange", Line: "marigold", Seeds: new(20), Made: day(), Season: "2026"})
				return err
			},
			func() error {
				_, err := b.FixPackets(ctx, []string{pick("packet")}, PacketFix{Dried: new(day()), Place: new("tin")})
				return err
			},
			func() error {
				_, _, err := b.StartTest(ctx, pick("packet"), GerminationTest{Started: day(), Seeds: 10})
				return err
			},
			func() error {
				_, err := b.ReadTest(ctx, pick("packet"), rapid.IntRange(0, 12).Draw(t, "sprouted"), day(), "")
				return err
			},
			func() error {
				_, _, err := b.AddSowing(ctx, NewSowing{Packet: pick("packet"), Season: "2027", Sown: day(), Seeds: 5})
				return err
			},
			func() error {
				_, _, err := b.CameUp(ctx, pick("sowing"), rapid.IntRange(1, 4).Draw(t, "plants"), nil)
				return err
			},
			func() error { return b.SetParents(ctx, pick("plant"), pick("plant"), pick("plant")) },
			func() error { return b.SetFounders(ctx, "orange", pick("plant")) },
			func() error { return b.SetFounderGroup(ctx, FounderGroup{Name: "orange", Note: "bought"}) },
			func() error {
				kind := rapid.SampledFrom([]string{"plant", "cross", "head", "packet", "sowing"}).Draw(t, "kind")
				_, err := b.Remove(ctx, kind, pick(kind))
				return err
			},
		}
		after := booktest.RowsIn(t, b.DB())
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			before, changes := after, historyLen(t, b)
			err := rapid.SampledFrom(ops).Draw(t, "what")()
			after = booktest.RowsIn(t, b.DB())
			if err != nil {
				if d := cmp.Diff(before, after); d != "" {
					t.Fatalf("refused (%v), yet changed (-before +after):\n%s", err, d)
				}
				continue
			}
			inOrder(t, b)
			if historyLen(t, b) > changes && rapid.IntRange(0, 3).Draw(t, "undo") == 0 {
				must.Have(b.Undo(ctx, 0))(t)
				after = booktest.RowsIn(t, b.DB())
				if d := cmp.Diff(before, after); d != "" {
					t.Fatalf("undone (-before +after):\n%s", d)
				}
			}
		}
	})
}

func historyLen(t booktest.T, b *Book) int {
	var n int
	must.OK(t, b.DB().QueryRow("SELECT count(*) FROM change").Scan(&n))
	return n
}

// inOrder holds what must be true of every book.
func inOrder(t booktest.T, b *Book) {
	t.Helper()
	ctx := context.Background()
	plants := must.Have(b.Plants(ctx, PlantFilter{}))(t)
	var pedigree []genetics.Parents
	for _, p := range plants {
		pedigree = append(pedigree, genetics.Parents{ID: p.ID, Seed: p.SeedParent, Pollen: p.PollenParent})
	}
	for id, g := range genetics.Generations(pedigree) {
		if g == "" {
			t.Errorf("plant %s is its own ancestor", id)
		}
	}
	heads := must.Have(b.Heads(ctx, ""))(t)
	for _, h := range heads {
		days := append([]time.Time{h.Bagged}, h.Pollinated...)
		days = append(days, h.StigmasDry, h.Harvested)
		last := time.Time{}
		for _, d := range days {
			if !d.IsZero() && d.Before(last) {
				t.Errorf("head %s: %v before %v", h.Name, d, last)
			}
			if !d.IsZero() {
				last = d
			}
		}
	}
	for _, p := range mustPackets(t, b) {
		for _, x := range p.Tests {
			if x.Sprouted > x.Seeds {
				t.Errorf("packet %s: %d of %d sprouted", p.Name, x.Sprouted, x.Seeds)
			}
		}
	}
	var broken int
	if err := b.DB().QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken); err != nil || broken > 0 {
		t.Errorf("%d rows name others that are not there, %v", broken, err)
	}
}

func mustPackets(t booktest.T, b *Book) []Packet {
	packets := must.Have(b.Packets(context.Background(), ""))(t)
	return packets
}

// TestMadeNames holds that made names are free, differ, and name what they were
// made for, whatever the season is called.
func TestMadeNames(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.OK(t, b.AddPlant(ctx, Plant{ID: "M-1", Line: "marigold", Season: "2026"}))
	seen := map[string]bool{}
	for _, season := range []string{"2026", "2126", "spring", "2026-27", "26"} {
		for range 3 {
			c, _, err := b.AddCross(ctx, Cross{SeedParent: "M-1", Kind: KindSelf, Season: season}, 0)
			if err != nil {
				t.Fatalf("season %q: %v", season, err)
			}
			if seen[c.Name] || c.Season != season {
				t.Errorf("season %q: cross %q of %q, made before: %v", season, c.Name, c.Season, seen[c.Name])
			}
			seen[c.Name] = true
			if _, err := b.FixCross(ctx, c.Name[:len(c.Name)-1], CrossFix{Note: new("found")}); err != nil {
				t.Errorf("without its letter: %v", err)
			}
			wrong := c.Name[:len(c.Name)-1] + otherLetter(c.Name)
			if wrong != c.Name {
				if _, err := b.FixCross(ctx, wrong, CrossFix{Note: new("?")}); !errors.Is(err, naming.ErrMistyped) {
					t.Errorf("%s for %s: %v, want naming.ErrMistyped", wrong, c.Name, err)
				}
			}
		}
	}
}

// otherLetter is a letter that does not fit the name.
func otherLetter(name string) string {
	if name[len(name)-1] == 'A' {
		return "B"
	}
	return "A"
}
