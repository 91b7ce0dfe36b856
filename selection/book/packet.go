package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// AddPacket notes one lot of seed in an envelope, and returns it with the name
// that the book made. Its seed is that of Heads, all of one cross and harvested;
// or of a Cross of which no heads were noted; or bought or given, of FounderGroup.
// Seeds that are not given are the sum of the heads' where all are counted, or
// those of the cross. An empty Line is that of the cross. A head whose seed lies in
// another packet must have the Seeds of both said. The error wraps ErrNotFound for a
// head or cross that is not in the book.
func (b *Book) AddPacket(ctx context.Context, p Packet) (*Packet, error) {
	if err := errors.Join(checkCount("seeds", p.Seeds), checkGrams(p.Grams), cleanLabels(&p.Place, &p.Paper)); err != nil {
		return nil, err
	}
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		heads, cross, err := record.SeedOf(tx, &p)
		if err != nil {
			return "", err
		}
		if p.Line == "" {
			return "", remedy.Step(remedy.SayLine).Errorf("say which line the seed is of")
		}
		line, _, err := b.ensureLine(tx, p.Line)
		if err != nil {
			return "", err
		}
		season, err := record.EnsureSeason(tx, p.Season)
		if err != nil {
			return "", err
		}
		if p.FounderGroup != "" {
			if p.FounderGroup, err = b.ensureGroup(tx, p.FounderGroup); err != nil {
				return "", err
			}
		}
		if p.Name, err = record.NextName(tx, "P", "packet", p.Season); err != nil {
			return "", err
		}
		var crossID any
		if cross != 0 {
			crossID = cross
		}
		res, err := tx.Exec(`INSERT INTO packet (name, key, line_id, season_id, cross_id, founder_group, seeds, made_on, dried_on, place, paper,
			note, added_at, grams, seeds_by_weight)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, nullif(?, 0),
			?)`, p.Name, naming.Key(p.Name), line, season, crossID, p.FounderGroup, record.CountOf(p.Seeds),
			dayText(p.Made), dayText(p.Dried), p.Place, p.Paper, p.Note, b.Stamp(), p.Grams,
			p.ByWeight && p.Seeds != nil)
		if err != nil {
			return "", err
		}
		id, err := res.LastInsertId()
		if err != nil {
			return "", err
		}
		for _, h := range heads {
			if _, err := tx.Exec("INSERT INTO packet_head (packet_id, head_id) VALUES (?, ?)", id, h); err != nil {
				return "", err
			}
		}
		return "packet " + p.Name + " made", nil
	})
	if err != nil {
		return nil, err
	}
	return b.packet(ctx, p.Name)
}

// PacketNamed is the packet of that name, the check letter left out or not; the error
// wraps ErrNotFound.
func (b *Book) PacketNamed(ctx context.Context, typed string) (*Packet, error) {
	_, name, err := record.Find(ctx, b.from, "packet", typed)
	if err != nil {
		return nil, err
	}
	return b.packet(ctx, name)
}

// packet is the packet of that full name.
func (b *Book) packet(ctx context.Context, name string) (*Packet, error) {
	packets, err := record.Packets(ctx, b.from, "k.key = ?", naming.Key(name))
	if err != nil || len(packets) == 0 {
		return nil, errors.Join(err, fmt.Errorf("packet %q: %w", name, ErrNotFound))
	}
	return &packets[0], nil
}

// PacketFix is what is changed of packets; nil leaves it as it is.
type PacketFix struct {
	Seeds        *int       // negative: not counted
	ByWeight     bool       // Seeds is what the weight comes to
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
	var full []string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		for _, typed := range names {
			row, name, err := record.Find(context.Background(), tx, "packet", typed)
			if err != nil {
				return "", err
			}
			full = append(full, name)
			set := func(column string, v any) {
				if err == nil {
					_, err = tx.Exec("UPDATE packet SET "+column+" = ? WHERE id = ?", v, row)
				}
			}
			if fix.Seeds != nil {
				if err := checkCount("seeds", nonNegative(*fix.Seeds)); err != nil {
					return "", err
				}
				set("seeds", record.CountOf(nonNegative(*fix.Seeds)))
				set("seeds_by_weight", fix.ByWeight && *fix.Seeds >= 0)
			}
			if fix.Grams != nil {
				if err := checkGrams(*fix.Grams); err != nil {
					return "", err
				}
				set("grams", gramsOf(*fix.Grams))
			}
			if fix.Made != nil {
				set("made_on", dayText(*fix.Made))
			}
			if fix.Dried != nil {
				set("dried_on", dayText(*fix.Dried))
			}
			for column, v := range map[string]*string{"place": fix.Place, "paper": fix.Paper, "note": fix.Note} {
				if v != nil {
					set(column, *v)
				}
			}
			if err != nil {
				return "", err
			}
		}
		if fix.Dried != nil && !fix.Dried.IsZero() {
			return fmt.Sprintf("%s: dry %s", nameList(full), fix.Dried.Format(time.DateOnly)), nil
		}
		return "packet " + nameList(full) + " corrected", nil
	})
	if err != nil {
		return nil, err
	}
	return allNamed(ctx, full, b.packet)
}

// StartTest notes that seeds of a packet were laid out to see how many sprout,
// and returns the packet, and whether more seeds were taken from it than it held.
func (b *Book) StartTest(ctx context.Context, packet string, t GerminationTest) (p *Packet, over bool, err error) {
	if t.Seeds < 1 || t.Seeds > maxCount {
		return nil, false, fmt.Errorf("%d seeds in a germination test; want 1 or more", t.Seeds)
	}
	return b.changePacket(ctx, packet, func(tx *sql.Tx, row int64, name string) (string, error) {
		_, err := tx.Exec("INSERT INTO germination_test (packet_id, started_on, seeds, note) VALUES (?, ?, ?, ?)", row, dayText(t.Started),
			t.Seeds, t.Note)
		return fmt.Sprintf("germination test of %s: %d seeds", name, t.Seeds), err
	})
}

// ErrNoTest says that a packet has no germination test that is still to be read.
var ErrNoTest = errors.New("no germination test is waiting to be read")

// ReadTest notes how many seeds of the packet's oldest unread germination test
// have sprouted; the error wraps ErrNoTest when there is none.
func (b *Book) ReadTest(ctx context.Context, packet string, sprouted int, on time.Time, note string) (*Packet, error) {
	p, _, err := b.changePacket(ctx, packet, func(tx *sql.Tx, row int64, name string) (string, error) {
		var id int64
		var seeds int
		var started string
		err := tx.QueryRow("SELECT id, seeds, started_on FROM germination_test WHERE packet_id = ? AND read_on IS NULL ORDER BY id LIMIT 1",
			row).Scan(&id, &seeds, &started)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return "", remedy.Step(remedy.StartTest).Errorf("packet %q: %w; start one", name, ErrNoTest)
		case err != nil:
			return "", err
		case sprouted < 0 || sprouted > seeds:
			return "", fmt.Errorf("packet %q: %d sprouted of %d seeds", name, sprouted, seeds)
		case on.Format(time.DateOnly) < started:
			return "", fmt.Errorf("packet %q: read on %s, before the test began on %s", name, on.Format(time.DateOnly), started)
		}
		_, err = tx.Exec("UPDATE germination_test SET read_on = ?, sprouted = ?, note = CASE ?3 WHEN '' THEN note ELSE ?3 END WHERE id = ?4",
			dayText(on), sprouted, note, id)
		return fmt.Sprintf("germination test of %s: %d of %d sprouted", name, sprouted, seeds), err
	})
	return p, err
}

// changePacket does f to a packet and returns it, and whether more was taken from
// it than it held.
func (b *Book) changePacket(ctx context.Context, packet string, f func(tx *sql.Tx, row int64, name string) (string, error)) (*Packet, bool,
	error) {
	var full string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, name, err := record.Find(context.Background(), tx, "packet", packet)
		if err != nil {
			return "", err
		}
		full = name
		return f(tx, row, name)
	})
	if err != nil {
		return nil, false, err
	}
	p, err := b.packet(ctx, full)
	if err != nil {
		return nil, false, err
	}
	return p, p.Seeds != nil && p.Sown > *p.Seeds, nil
}
