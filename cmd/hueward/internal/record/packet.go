package record

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) packetCommand() *cobra.Command {
	var season, line string
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "packet",
		Short: "Note seed packets, their drying, place and germination",
		Long: `Note seed packets: what seed is in them, how much, whether it is dry, where they are
kept, how it germinates. Without a further word the packets are listed.` + cli.ExitStatuses(""),
		Example: `  hueward packet make M-07-1 M-07-2 --place "tin 3"
  hueward packet dry P26-001
  hueward packet`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			return a.packets(ctx, b, season, line, &out)
		}),
	}
	cmd.Flags().StringVar(&season, "season", "", "list only the `SEASON` in which the seed grew")
	cmd.Flags().StringVar(&line, "line", "", "list only the line `NAME`")
	out.AddFlags(cmd)
	cmd.AddCommand(a.packetMakeCommand(), a.packetDryCommand(), a.packetTestCommand(), a.packetOutCommand(), a.packetFixCommand(),
		a.removeCommand("packet", "packet", "P26-003S"))
	return cmd
}

func (a *app) packetMakeCommand() *cobra.Command {
	var p book.Packet
	cmd := &cobra.Command{
		Use:   "make [HEAD…]",
		Short: "Note a packet of seed",
		Long: `Note one lot of seed in an envelope: from harvested heads of one cross, with --cross
from a cross without noted heads, or with --bought from elsewhere. The book names
the packet, for example P26-003S. It holds the heads' seeds together, unless --seeds
or --grams says otherwise.` + cli.ExitStatuses(""),
		Example: `  hueward packet make M-07-1 M-07-2 --place "tin 3" --paper glassine
  hueward packet make --cross X26-004 --grams 2.5
  hueward packet make --bought "orange single" --line "buff apricot" --seeds 50`,
	}
	f := a.Flags(cmd)
	f.StringVar(&p.Cross, "cross", "", "the `CROSS` that its seed comes from")
	f.StringVar(&p.FounderGroup, "bought", "", "the `NAME` of the variety or lot, for seed from elsewhere")
	f.StringVar(&p.Line, "line", "", "the line's `NAME` (default: that of the cross)")
	f.StringVar(&p.Season, "season", "", "the `SEASON` in which the seed grew, or came")
	f.Count(&p.Seeds, "seeds", "`N` seeds in it")
	f.Float64Var(&p.Grams, "grams", 0, "its seed weighs `G` grams; without --seeds, their number follows from the crop")
	f.Day(&p.Made, "on", " it was filled")
	f.StringVar(&p.Place, "place", "", "`WHERE` it is kept")
	f.StringVar(&p.Paper, "paper", "", "`WHAT` it is kept in")
	f.StringVar(&p.Note, "note", "", "a note on it")
	f.Check(func(args []string) error {
		p.Heads = args
		switch {
		case len(args) == 0 && p.FounderGroup == "" && p.Cross == "":
			return cli.Usagef("say what seed is in it: heads, --cross X…, or --bought NAME")
		case f.Changed("grams") && !(p.Grams > 0):
			return cli.Usagef("--grams %v: want more than 0", p.Grams)
		}
		return nil
	})
	cmd.RunE = a.InBook(func(ctx context.Context, b *book.Book, _ []string) (err error) {
		if p.Season == "" && p.FounderGroup != "" {
			if p.Season, err = garden.SeasonOn(ctx, b, "", p.Made, a.Now()); err != nil {
				return err
			}
		}
		if p.FounderGroup != "" && p.Line == "" {
			line, err := garden.LineNamed(ctx, b, "")
			if err != nil {
				return err
			}
			p.Line = line.Name
		}
		made, err := b.AddPacket(ctx, p)
		if err == nil && made.Seeds == nil && made.Grams > 0 {
			made, err = a.countByWeight(ctx, b, made)
		}
		if err == nil {
			fmt.Fprintf(a.Stdout, "%s  %s\n", made.Name, packetWords(*made))
		}
		return err
	})
	return cmd
}

// countByWeight notes how many seeds a new packet's weight is likely to be, where its crop was said.
func (a *app) countByWeight(ctx context.Context, b *book.Book, p *book.Packet) (*book.Packet, error) {
	n, err := garden.SeedsIn(ctx, b, p.Grams, p.Line, nil)
	if err != nil {
		a.Warn("%v", err)
		return p, nil
	}
	list, err := b.FixPackets(ctx, []string{p.Name}, book.PacketFix{Seeds: &n, ByWeight: true})
	if err != nil {
		return nil, err
	}
	return &list[0], nil
}

// weight is a weight as JSON has it: null where it was not weighed.
func weight(grams float64) any { return terminal.Known(grams != 0, grams) }

// packetWords tells what is in a packet.
func packetWords(p book.Packet) string {
	of, seeds, grams, todo := p.FounderGroup, "", "", ""
	switch {
	case len(p.Heads) > 0:
		of = strings.Join(p.Heads, ", ")
	case p.Cross != "":
		of = "cross " + p.Cross
	}
	if p.Seeds != nil {
		seeds = words.Count(*p.Seeds, "seed")
		if p.ByWeight {
			seeds = "about " + seeds
		}
	}
	if p.Grams > 0 {
		grams = fmt.Sprintf("%g g", p.Grams)
	}
	if p.Cross != "" && p.Dried.IsZero() {
		todo = "to dry"
	}
	return words.Joined(", ", of, seeds, grams, p.Place, todo)
}

func (a *app) packetDryCommand() *cobra.Command {
	fix := &book.PacketFix{Dried: new(time.Time)}
	cmd := &cobra.Command{
		Use:   "dry PACKET…",
		Short: "Note that the seed is dry",
		Long: `Note that the seed in packets is dry: it can be closed and put away. Damp seed
moulds and dies; dry it in paper, in moving air, out of the sun.` + cli.ExitStatuses(""),
		Example: `  hueward packet dry P26-001 P26-002 --place "tin 3"`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			doubts, err := garden.DryDoubts(ctx, b, args, *fix.Dried)
			if err != nil {
				return err
			}
			return a.fixPackets(ctx, b, args, fix, doubts)
		}),
	}
	f := a.Flags(cmd)
	f.Day(fix.Dried, "on", "")
	f.TextFix(&fix.Place, "place", "`WHERE` it is kept")
	f.TextFix(&fix.Paper, "paper", "`WHAT` it is kept in")
	return cmd
}

// fixPackets corrects packets, and tells them and what is doubted of that.
func (a *app) fixPackets(ctx context.Context, b *book.Book, names []string, fix *book.PacketFix, doubts []string) error {
	packets, err := b.FixPackets(ctx, names, *fix)
	if err != nil {
		return err
	}
	for _, d := range doubts {
		a.Warn("%s; if that is wrong: hueward undo", d)
	}
	for _, p := range packets {
		fmt.Fprintf(a.Stdout, "%s  %s\n", p.Name, packetWords(p))
	}
	return nil
}

func (a *app) packetFixCommand() *cobra.Command {
	fix, grams := &book.PacketFix{}, 0.0
	cmd := &cobra.Command{
		Use:     "fix PACKET…",
		Short:   "Correct packets",
		Long:    `Correct what was noted of packets. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward packet fix P26-001 --seeds 64 --place "tin 2"`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.fixPackets(ctx, b, args, fix, nil)
		}),
	}
	f := a.Flags(cmd)
	f.CountFix(&fix.Seeds, "seeds", "`N` seeds, or none: not counted")
	f.Float64Var(&grams, "grams", 0, "its seed weighs `G` grams; 0: not weighed")
	f.DayFix(&fix.Made, "filled", "the `DAY` it was filled, or none")
	f.DayFix(&fix.Dried, "dried", "the `DAY` it was dry, or none")
	f.TextFix(&fix.Place, "place", "`WHERE` it is kept, or none")
	f.TextFix(&fix.Paper, "paper", "`WHAT` it is kept in, or none")
	f.TextFix(&fix.Note, "note", "the `TEXT` of its note, or none")
	f.Check(func([]string) error {
		if f.Changed("grams") {
			fix.Grams = &grams
		}
		return nil
	})
	cli.Corrects(f, fix)
	return cmd
}

func (a *app) packetTestCommand() *cobra.Command {
	var t book.GerminationTest
	var read bool
	cmd := &cobra.Command{
		Use:   "test PACKET",
		Short: "Note a germination test",
		Long: `Note a germination test: with --seeds how many were laid out, with --sprouted how
many of them came up. The seeds count as taken from the packet.` + cli.ExitStatuses(""),
		Example: `  hueward packet test P26-001 --seeds 10
  hueward packet test P26-001 --sprouted 8`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if read {
				p, err := b.ReadTest(ctx, args[0], t.Sprouted, t.Started, t.Note)
				if err == nil {
					fmt.Fprintf(a.Stdout, "%s  germination %s\n", p.Name, germination(*p))
				}
				return err
			}
			p, over, err := b.StartTest(ctx, args[0], t)
			if err == nil {
				a.warnOver(p, over)
				fmt.Fprintf(a.Stdout, "%s  %s laid out\n", p.Name, words.Count(t.Seeds, "seed"))
			}
			return err
		}),
	}
	f := a.Flags(cmd)
	f.IntVar(&t.Seeds, "seeds", 0, "`N` seeds were laid out")
	f.IntVar(&t.Sprouted, "sprouted", 0, "`N` of them sprouted")
	f.Day(&t.Started, "on", "")
	f.StringVar(&t.Note, "note", "", "a note on it")
	f.Check(func([]string) error {
		if read = f.Changed("sprouted"); read == f.Changed("seeds") {
			return cli.Usagef("say either --seeds N, laid out, or --sprouted N, of those laid out before")
		}
		return nil
	})
	return cmd
}

// warnOver tells when more was taken from a packet than it held.
func (a *app) warnOver(p *book.Packet, over bool) {
	if over {
		a.Warn("packet %s held %s, and %d were taken from it; noted all the same: correct whichever is wrong", p.Name,
			words.Count(*p.Seeds, "seed"), p.Sown)
	}
}

func (a *app) packetOutCommand() *cobra.Command {
	var o book.SeedOut
	var given, sold, lost bool
	cmd := &cobra.Command{
		Use:   "out PACKET",
		Short: "Note seed that was given away, sold or lost",
		Long: `Note that seed left a packet other than by sowing or a test: given away, sold,
or lost to mice, mould or a spill. It counts as taken from the packet.

Seed of a protected variety may not be sold or shared without its owner's leave, and
many countries have rules for selling any seed: check yours.` + cli.ExitStatuses(""),
		Example: `  hueward packet out P26-001 --given --seeds 20 --to "Anna"
  hueward packet out P26-001 --sold --seeds 10`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if err := countWeighed(ctx, b, args[0], o.Grams, &o.Seeds); err != nil {
				return err
			}
			p, over, err := b.TakeOut(ctx, args[0], o)
			if err != nil {
				return err
			}
			a.warnOver(p, over)
			a.warnEarly(p, o.On)
			left := ""
			if p.Seeds != nil {
				left = fmt.Sprintf(", %d left", max(0, *p.Seeds-p.Sown))
			}
			return a.Tell(nil, "%s  %s %s%s\n", p.Name, words.Count(o.Seeds, "seed"), o.How, left)
		}),
	}
	f := a.Flags(cmd)
	f.BoolVar(&given, "given", false, "it was given away")
	f.BoolVar(&sold, "sold", false, "it was sold")
	f.BoolVar(&lost, "lost", false, "it was lost: eaten, mouldy, spilt")
	f.IntVar(&o.Seeds, "seeds", 0, "`N` seeds")
	f.Float64Var(&o.Grams, "grams", 0, "`G` grams of it; the number of seeds follows from the packet's weight, or from the crop")
	f.StringVar(&o.To, "to", "", "to `WHOM`")
	f.Day(&o.On, "on", "")
	f.StringVar(&o.Note, "note", "", "a note on it")
	f.Check(func([]string) error {
		for way, how := range map[*bool]book.Out{&given: book.OutGiven, &sold: book.OutSold, &lost: book.OutLost} {
			if *way {
				o.How = how
			}
		}
		switch {
		case o.How == "": // more than one is refused as flags that do not go together
			return cli.Usagef("say how it left: one of --given, --sold and --lost")
		case f.Changed("seeds") == f.Changed("grams"):
			return cli.Usagef("say how much: --seeds N, or --grams G")
		}
		return nil
	})
	terminal.Exclusive(cmd, "given", "sold", "lost")
	return cmd
}

// countWeighed counts the seeds of a packet that a weight comes to, where one was said and they were not.
func countWeighed(ctx context.Context, b *book.Book, packet string, grams float64, seeds *int) error {
	if !(grams > 0) || *seeds != 0 {
		return nil
	}
	p, err := b.PacketNamed(ctx, packet)
	if err == nil {
		*seeds, err = garden.SeedsIn(ctx, b, grams, p.Line, p)
	}
	return err
}

// germination is the share that sprouted of all that was tested and read; empty when none was.
func germination(p book.Packet) string {
	seeds, sprouted := 0, 0
	for _, t := range p.Tests {
		if !t.Read.IsZero() {
			seeds += t.Seeds
			sprouted += t.Sprouted
		}
	}
	if seeds == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d", sprouted, seeds)
}

func (a *app) packets(ctx context.Context, b *book.Book, season, line string, out *terminal.Output) error {
	line, err := garden.LineFilter(ctx, b, line)
	if err != nil {
		return err
	}
	found, err := b.Packets(ctx, season)
	l := terminal.Listing{Fields: "packet,season,line,cross,heads,founder_group,seeds,taken,made,dried,place,paper,tests,note,grams," +
		"seeds_by_weight,out,sow_by,expected", None: "No packets.",
		CSV: "packet,season,line,cross,heads,founder_group,seeds,made,dried,place,paper,note,taken,germination,grams,seeds_by_weight,sow_by",
		Columns: []terminal.Column{{Head: "packet"}, {Head: "of"}, {Head: "line", Wide: 90}, {Head: "seeds", Of: "about", Right: true},
			{Head: "left", Right: true}, {Head: "sprouted", Of: "germination", Right: true}, {Head: "dry"}, {Head: "sow by", Of: "sow_by"},
			{Head: "place", Words: true}, {Head: "note", Words: true}}}
	for _, p := range found {
		if line != "" && line != p.Line {
			continue
		}
		tests, gone := []terminal.Item{}, []terminal.Item{}
		for _, t := range p.Tests {
			tests = append(tests, terminal.Of("started,seeds,read,sprouted,note", t.Started, t.Seeds, t.Read,
				terminal.Known(!t.Read.IsZero(), t.Sprouted), t.Note))
		}
		for _, o := range p.Out {
			gone = append(gone, terminal.Of("day,how,seeds,grams,to,note", o.On, o.How, o.Seeds, weight(o.Grams), o.To, o.Note))
		}
		age, ok, err := garden.AgeOf(ctx, b, &p, a.Today())
		if err != nil {
			return err
		}
		about, left := words.Number(p.Seeds), ""
		if p.ByWeight {
			about = "about " + about
		}
		if p.Seeds != nil {
			left = strconv.Itoa(max(0, *p.Seeds-p.Sown))
		}
		l.Add(p.Name, p.Season, p.Line, p.Cross, p.Heads, p.FounderGroup, p.Seeds, p.Sown, p.Made, p.Dried, p.Place, p.Paper, tests, p.Note,
			weight(p.Grams), p.ByWeight, gone, age.SowBy, terminal.Known(ok, age.Expected)).Also("about", about, "left", left,
			"germination", germination(p), "of", cmp.Or(p.Cross, p.FounderGroup), "dry", dried(p))
	}
	return a.Stdout.List(out, l, err)
}

// dried says whether a packet's seed is dry; bought seed comes dry.
func dried(p book.Packet) string {
	if p.Cross == "" && p.Dried.IsZero() {
		return "bought"
	}
	return dry(p.Dried)
}

func dry(t time.Time) string {
	if t.IsZero() {
		return "no"
	}
	return words.Day(t)
}
