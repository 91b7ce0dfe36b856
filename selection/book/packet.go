package book

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// AddPacket adds one lot of seed in an envelope and returns it with the name that the book made. Its seed comes from
// Heads, all harvested and of one cross; or from a Cross without noted heads; or it was bought or given, of
// FounderGroup. If Seeds is nil, it is the sum of the heads' seeds if all are counted, or the cross's. An empty Line
// means that of the cross. If a head's seed lies in another packet, too, both packets' Seeds must be given. The error
// wraps ErrNotFound for a head or cross that is not in the book.
func (b *Book) AddPacket(ctx context.Context, p Packet) (*Packet, error) {
	if err := errors.Join(checkCount("seeds", p.Seeds), checkGrams(p.Grams), cleanLabels(&p.Place, &p.Paper)); err != nil {
		return nil, err
	}
	err := b.Change(ctx, func(t *record.Tx) string {
		heads, cross := t.SeedOf(&p)
		if p.Line == "" {
			t.Fail(remedy.Step(remedy.SayLine).Errorf("say which line the seed is of"))
		}
		line, _ := b.ensureLine(t, p.Line)
		if p.FounderGroup != "" {
			p.FounderGroup = b.ensureGroup(t, p.FounderGroup)
		}
		var id int64
		id, p.Name = t.AddNamed("P", "packet", p.Season, `line_id, cross_id, founder_group, seeds, made_on, dried_on, place, paper, note,
			added_at, grams, seeds_by_weight`, line, record.OrNull(cross), p.FounderGroup, p.Seeds, dayText(p.Made), dayText(p.Dried), p.Place,
			p.Paper, p.Note, b.Stamp(), record.OrNull(p.Grams), p.ByWeight && p.Seeds != nil)
		for _, h := range heads {
			t.Add("packet_head", "packet_id, head_id", id, h)
		}
		return "packet " + p.Name + " made"
	})
	if err != nil {
		return nil, err
	}
	return b.PacketNamed(ctx, p.Name)
}

// PacketNamed returns the packet of that name, with or without the check letter; the error wraps ErrNotFound.
func (b *Book) PacketNamed(ctx context.Context, typed string) (*Packet, error) {
	return packetRecords.named(ctx, b, typed)
}

// PacketFix holds changes of packets; a nil field leaves its value as it is.
type PacketFix struct {
	Seeds        *int       // negative: not counted
	ByWeight     bool       // Seeds was calculated from the weight
	Grams        *float64   // 0: not weighed
	Made, Dried  *time.Time // zero: not said
	Place, Paper *string
	Note         *string
}

// FixPackets changes packets, all of them or none, and returns them as they are now.
func (b *Book) FixPackets(ctx context.Context, names []string, fix PacketFix) ([]Packet, error) {
	if err := cleanLabels(fix.Place, fix.Paper); err != nil {
		return nil, err
	}
	return packetRecords.fixAll(ctx, b, names, func(t *record.Tx, row int64, _ string) {
		correct(t, "packet", row, columns{"seeds": fix.Seeds, "grams": fix.Grams, "made_on": fix.Made, "dried_on": fix.Dried, "place": fix.Place,
			"paper": fix.Paper, "note": fix.Note})
		if fix.Seeds != nil {
			t.Do("UPDATE packet SET seeds_by_weight = ? WHERE id = ?", fix.ByWeight && *fix.Seeds >= 0, row)
		}
	}, func(all string) string {
		if fix.Dried != nil && !fix.Dried.IsZero() {
			return all + ": dry " + fix.Dried.Format(time.DateOnly)
		}
		return "packet " + all + " corrected"
	})
}

// StartTest adds a germination test with seeds of a packet and returns the packet;
// over reports that more seeds were taken from it than it held.
func (b *Book) StartTest(ctx context.Context, packet string, g GerminationTest) (p *Packet, over bool, err error) {
	if g.Seeds < 1 || g.Seeds > maxCount {
		return nil, false, fmt.Errorf("%d seeds in a germination test; want 1 or more", g.Seeds)
	}
	return b.changePacket(ctx, packet, func(t *record.Tx, row int64, name string) string {
		t.Add("germination_test", "packet_id, started_on, seeds, note", row, dayText(g.Started), g.Seeds, g.Note)
		return fmt.Sprintf("germination test of %s: %d seeds", name, g.Seeds)
	})
}

// ErrNoTest is returned for a packet without a germination test that is still to be read.
var ErrNoTest = errors.New("no germination test is waiting to be read")

// ReadTest notes how many seeds of the packet's oldest unread germination test
// have sprouted; the error wraps ErrNoTest when there is none.
func (b *Book) ReadTest(ctx context.Context, packet string, sprouted int, on time.Time, note string) (*Packet, error) {
	p, _, err := b.changePacket(ctx, packet, func(t *record.Tx, row int64, name string) string {
		var id int64
		var seeds int
		var started string
		switch found := t.Get("SELECT id, seeds, started_on FROM germination_test WHERE packet_id = ? AND read_on IS NULL ORDER BY id LIMIT 1",
			row).Found(&id, &seeds, &started); {
		case !found:
			t.Fail(remedy.Step(remedy.StartTest).Errorf("packet %q: %w; start one", name, ErrNoTest))
		case sprouted < 0 || sprouted > seeds:
			t.Failf("packet %q: %d sprouted of %d seeds", name, sprouted, seeds)
		case on.Format(time.DateOnly) < started:
			t.Failf("packet %q: read on %s, before the test began on %s", name, on.Format(time.DateOnly), started)
		}
		t.Do("UPDATE germination_test SET read_on = ?, sprouted = ?, note = CASE ?3 WHEN '' THEN note ELSE ?3 END WHERE id = ?4",
			dayText(on), sprouted, note, id)
		return fmt.Sprintf("germination test of %s: %d of %d sprouted", name, sprouted, seeds)
	})
	return p, err
}

// changePacket calls f on a packet and returns the packet, and whether more was taken from it than it held.
func (b *Book) changePacket(ctx context.Context, packet string, f func(t *record.Tx, row int64, name string) string) (
	*Packet, bool, error) {
	p, err := packetRecords.fix(ctx, b, packet, f)
	return p, err == nil && p.Seeds != nil && p.Sown > *p.Seeds, err
}

// TakeOut notes seed that was given away, sold or lost and returns the packet;
// over reports that more seeds were taken from it than it held.
func (b *Book) TakeOut(ctx context.Context, packet string, o SeedOut) (p *Packet, over bool, err error) {
	switch {
	case !slices.Contains(record.Outs, o.How):
		return nil, false, fmt.Errorf("%q is not a way for seed to leave a packet", o.How)
	case o.Seeds < 1 || o.Seeds > maxCount:
		return nil, false, fmt.Errorf("%d seeds; want 1 or more", o.Seeds)
	}
	if err := checkGrams(o.Grams); err != nil {
		return nil, false, err
	}
	return b.changePacket(ctx, packet, func(t *record.Tx, row int64, name string) string {
		t.Add("seed_out", "packet_id, day, how, seeds, grams, to_whom, note", row, dayText(o.On), o.How, o.Seeds, record.OrNull(o.Grams),
			strings.TrimSpace(o.To), o.Note)
		return fmt.Sprintf("%d seeds of %s %s", o.Seeds, name, o.How)
	})
}

// checkGrams returns an error for a weight that is impossible or above maxGrams.
func checkGrams(g float64) error {
	if !(g >= 0 && g <= maxGrams) {
		return fmt.Errorf("%v grams; want more than 0, up to %d", g, maxGrams)
	}
	return nil
}

// maxGrams is the largest accepted weight of a packet, against mistyping: our own choice.
const maxGrams = 1_000_000
