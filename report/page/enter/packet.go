package enter

import (
	"context"
	"fmt"
	"time"

	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// Packet takes every form of the packets' page: "do" says which.
func Packet(ctx context.Context, b *book.Book, f *Form) (string, error) {
	p := packetForm{Form: f, name: f.Text("packet"), seeds: f.Count("seeds"), weight: f.grams(), on: f.Day("on")}
	if f.Err != nil {
		return "", f.Err
	}
	do := f.Text("do")
	if ask := counts[do]; ask != "" && (p.seeds == nil || *p.seeds == 0 && do != "read") {
		return "", Wrongf("Say how many %s.", ask)
	}
	switch do {
	case "fill":
		return p.fill(ctx, b)
	case "dry":
		return p.dry(ctx, b)
	case "holds":
		return p.holds(ctx, b)
	case "sow":
		return p.sow(ctx, b)
	case "up":
		return p.up(ctx, b)
	case "out":
		if err := b.PlantOut(ctx, p.on, p.name); err != nil {
			return "", err
		}
		return p.name + " is planted out.", nil
	case "test":
		return p.test(ctx, b)
	case "read":
		return p.read(ctx, b)
	case string(book.OutGiven), string(book.OutSold), string(book.OutLost):
		return p.takeOut(ctx, b, book.Out(do))
	}
	return "", Wrongf("Say what was done with the packet.")
}

// counts are what has to be counted for it.
var counts = map[string]string{"up": "plants came up", "test": "seeds are laid out", "read": "sprouted"}

// fill notes a new packet.
func (f *packetForm) fill(ctx context.Context, b *book.Book) (string, error) {
	p := book.Packet{Heads: f.Values["head"], FounderGroup: f.Text("bought"), Seeds: f.seeds, Grams: f.weight, Made: f.on,
		Place: f.Text("place"), Paper: f.Text("paper")}
	if len(p.Heads) == 0 && p.FounderGroup == "" {
		return "", Wrongf("Tick the heads whose seed is in the packet, or name the variety that was bought.")
	}
	line, counted := f.Line, false
	if p.FounderGroup != "" {
		if line == "" {
			return "", garden.ErrNoLine
		}
		p.Line = line
		var err error
		if p.Season, err = garden.SeasonOn(ctx, b, "", f.on, f.Now); err != nil {
			return "", err
		}
	} else {
		heads, err := b.Heads(ctx, "")
		if err != nil {
			return "", err
		}
		counted = true
		for _, h := range heads {
			for _, name := range p.Heads {
				if h.Name == name {
					line, counted = h.Line, counted && h.Seeds != nil
				}
			}
		}
	}
	doubt := ""
	if p.Seeds == nil && p.Grams > 0 && !counted {
		switch n, err := garden.SeedsIn(ctx, b, p.Grams, line, nil); {
		case err == nil:
			p.Seeds, p.ByWeight = &n, true
		default:
			doubt = err.Error()
		}
	}
	made, err := b.AddPacket(ctx, p)
	if err != nil {
		return "", err
	}
	said := "packet " + made.Name + " filled"
	if made.ByWeight {
		said += ": " + Holds(*made)
	}
	return join(said, doubt), nil
}

// packetForm is a form of the packets' page, as far as its fields mean the same in all.
type packetForm struct {
	*Form
	name   string // of the packet, or the sowing
	seeds  *int
	weight float64
	on     time.Time
}

// counted is how many seeds were said, or what the weight that was said comes to; 0: neither.
func (f *packetForm) counted(ctx context.Context, b *book.Book) (int, error) {
	if f.seeds != nil || f.weight == 0 {
		if f.seeds == nil {
			return 0, nil
		}
		return *f.seeds, nil
	}
	p, err := b.PacketNamed(ctx, f.name)
	if err != nil {
		return 0, err
	}
	return garden.SeedsIn(ctx, b, f.weight, p.Line, p)
}

func (f *packetForm) dry(ctx context.Context, b *book.Book) (string, error) {
	fix := book.PacketFix{Dried: &f.on}
	if place := f.Text("place"); place != "" {
		fix.Place = &place
	}
	doubts, err := garden.DryDoubts(ctx, b, []string{f.name}, f.on)
	if err != nil {
		return "", err
	}
	if _, err := b.FixPackets(ctx, []string{f.name}, fix); err != nil {
		return "", err
	}
	return join(append([]string{"packet " + f.name + " is dry"}, doubts...)...), nil
}

// holds corrects how much is in a packet, and where it lies.
func (f *packetForm) holds(ctx context.Context, b *book.Book) (string, error) {
	var fix book.PacketFix
	if f.weight > 0 {
		fix.Grams = &f.weight
	}
	fix.Seeds = f.seeds
	if fix.Seeds == nil && fix.Grams != nil {
		p, err := b.PacketNamed(ctx, f.name)
		if err != nil {
			return "", err
		}
		if p.Seeds == nil || p.ByWeight {
			n, err := garden.SeedsIn(ctx, b, f.weight, p.Line, nil)
			if err != nil {
				return "", err
			}
			fix.Seeds, fix.ByWeight = &n, true
		}
	}
	if place := f.Text("place"); place != "" {
		fix.Place = &place
	}
	if fix == (book.PacketFix{}) {
		return "", Wrongf("Say how many seeds it holds, what they weigh, or where it lies.")
	}
	list, err := b.FixPackets(ctx, []string{f.name}, fix)
	if err != nil {
		return "", err
	}
	return join("packet " + list[0].Name + ": " + Holds(list[0])), nil
}

// Holds tells what is in a packet, and where it lies.
func Holds(p book.Packet) string {
	s := "seed not counted"
	if p.Seeds != nil {
		s = words.Count(*p.Seeds, "seed")
		if p.ByWeight {
			s = "about " + s
		}
		if p.Sown > 0 {
			s += fmt.Sprintf(", %d left", max(0, *p.Seeds-p.Sown))
		}
	}
	if p.Grams > 0 {
		s += fmt.Sprintf(", %g g", p.Grams)
		if p.Sown > 0 {
			s += " when filled"
		}
	}
	if p.Place != "" {
		s += ", " + p.Place
	}
	return s
}

func (f *packetForm) sow(ctx context.Context, b *book.Book) (string, error) {
	n := book.NewSowing{Packet: f.name, Sown: f.on, Grams: f.weight}
	var err error
	if n.Seeds, err = f.counted(ctx, b); err != nil {
		return "", err
	}
	if n.Season, err = garden.SeasonOn(ctx, b, "", f.on, f.Now); err != nil {
		return "", err
	}
	made, p, err := b.AddSowing(ctx, n)
	if err != nil {
		return "", err
	}
	age, ok, err := garden.AgeOf(ctx, b, p, f.on)
	if err != nil {
		return "", err
	}
	warning := ""
	if ok {
		warning = age.Warning(p.Name, made.Seeds)
	}
	return join(words.Count(made.Seeds, "seed")+" of "+p.Name+" sown as "+made.Name, over(p), warning), nil
}

// over says that more was taken from a packet than it held; empty: it was not.
func over(p *book.Packet) string {
	if p.Seeds == nil || p.Sown <= *p.Seeds {
		return ""
	}
	return fmt.Sprintf("that makes %d taken from the %s in %s: correct whichever is wrong", p.Sown,
		words.Count(*p.Seeds, "seed"), p.Name)
}

func (f *packetForm) up(ctx context.Context, b *book.Book) (string, error) {
	names, many, err := b.CameUp(ctx, f.name, *f.seeds, nil)
	if err != nil {
		return "", err
	}
	text := words.Count(len(names), "plant") + " came up: " + names[0]
	if len(names) > 1 {
		text += " to " + names[len(names)-1]
	}
	if many {
		text += "; more than seeds were sown"
	}
	return text + ".", nil
}

func (f *packetForm) test(ctx context.Context, b *book.Book) (string, error) {
	p, _, err := b.StartTest(ctx, f.name, book.GerminationTest{Started: f.on, Seeds: *f.seeds})
	if err != nil {
		return "", err
	}
	return join(fmt.Sprintf("germination test of %s of %s begun", words.Count(*f.seeds, "seed"), p.Name), over(p)), nil
}

func (f *packetForm) read(ctx context.Context, b *book.Book) (string, error) {
	if _, err := b.ReadTest(ctx, f.name, *f.seeds, f.on, ""); err != nil {
		return "", err
	}
	return fmt.Sprintf("%d sprouted in the test of %s.", *f.seeds, f.name), nil
}

// takeOut notes seed that was given away, sold or lost.
func (f *packetForm) takeOut(ctx context.Context, b *book.Book, how book.Out) (string, error) {
	o := book.SeedOut{On: f.on, How: how, Grams: f.weight, To: f.Text("to"), Note: f.Text("note")}
	var err error
	if o.Seeds, err = f.counted(ctx, b); err != nil {
		return "", err
	}
	if o.Seeds == 0 {
		return "", Wrongf("Say how many seeds, or how many grams of them.")
	}
	p, _, err := b.TakeOut(ctx, f.name, o)
	if err != nil {
		return "", err
	}
	said := fmt.Sprintf("%s of %s %s", words.Count(o.Seeds, "seed"), p.Name, OutWords[how])
	if o.To != "" {
		said += " to " + o.To
	}
	if p.Seeds != nil {
		said += fmt.Sprintf(", %d left", max(0, *p.Seeds-p.Sown))
	}
	return join(said, over(p)), nil
}

// OutWords are how it is said that seed left a packet.
var OutWords = map[book.Out]string{book.OutGiven: "given away", book.OutSold: "sold", book.OutLost: "lost"}
