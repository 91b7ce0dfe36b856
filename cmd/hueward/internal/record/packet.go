package record

import (
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
		Args: cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			return a.packets(ctx, b, season, line, &out)
		}),
	}
	cmd.Flags().StringVar(&season, "season", "", "list only the `SEASON` in which the seed grew")
	cmd.Flags().StringVar(&line, "line", "", "list only the line `NAME`")
	out.AddFlags(cmd)
	cmd.AddCommand(a.packetMakeCommand(), a.packetDryCommand(), a.packetTestCommand(), a.packetOutCommand(),
		a.packetFixCommand(),
		a.removeCommand("packet", "P26-003S"))
	return cmd
}

func (a *app) packetMakeCommand() *cobra.Command {
	var p book.Packet
	var on string
	seeds := -1
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
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			p.Heads = args
			p.Seeds = cli.CountFlag(cmd, "seeds", seeds)
			if ways := min(len(args), 1) + len(p.FounderGroup) + len(p.Cross); ways == 0 {
				return cli.Usagef("say what seed is in it: heads, --cross X…, or --bought NAME")
			}
			var err error
			if p.Made, err = a.Day("on", on); err != nil {
				return err
			}
			b, err := a.OpenBook(cmd.Context())
			if err != nil {
				return err
			}
			defer b.Close()
			if p.Season == "" && p.FounderGroup != "" {
				if p.Season, err = garden.SeasonOn(cmd.Context(), b, "", p.Made, a.Now()); err != nil {
					return err
				}
			}
			if p.FounderGroup != "" && p.Line == "" {
				line, err := garden.LineNamed(cmd.Context(), b, "")
				if err != nil {
					return err
				}
				p.Line = line.Name
			}
			if cmd.Flags().Changed("grams") && !(p.Grams > 0) {
				return cli.Usagef("--grams %v: want more than 0", p.Grams)
			}
			made, err := b.AddPacket(cmd.Context(), p)
			if err == nil && made.Seeds == nil && made.Grams > 0 {
				made, err = a.countByWeight(cmd.Context(), b, made)
			}
			if err != nil {
				return err
			}
			fmt.Fprintf(a.Stdout, "%s  %s\n", made.Name, packetWords(*made))
			return nil
		}),
	}
	f := cmd.Flags()
	f.StringVar(&p.Cross, "cross", "", "the `CROSS` that its seed comes from")
	f.StringVar(&p.FounderGroup, "bought", "", "the `NAME` of the variety or lot, for seed from elsewhere")
	f.StringVar(&p.Line, "line", "", "the line's `NAME` (default: that of the cross)")
	f.StringVar(&p.Season, "season", "", "the `SEASON` in which the seed grew, or came")
	f.IntVar(&seeds, "seeds", seeds, "`N` seeds in it")
	f.Float64Var(&p.Grams, "grams", 0, "its seed weighs `G` grams; without --seeds, their number follows from the crop")
	f.StringVar(&on, "on", "", "the `DAY` it was filled: "+cli.DayForms+" (default: today)")
	f.StringVar(&p.Place, "place", "", "`WHERE` it is kept")
	f.StringVar(&p.Paper, "paper", "", "`WHAT` it is kept in")
	f.StringVar(&p.Note, "note", "", "a note on it")
	return cmd
}

// countByWeight notes how many seeds a new packet's weight is likely to be, where its crop
// was said.
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
func weight(grams float64) *float64 {
	if grams == 0 {
		return nil
	}
	return &grams
}

// seedsIn tells how many seeds a packet holds; empty: not known.
func seedsIn(p book.Packet) string {
	s := ""
	switch {
	case p.Seeds != nil && p.ByWeight:
		s = "about " + words.Count(*p.Seeds, "seed")
	case p.Seeds != nil:
		s = words.Count(*p.Seeds, "seed")
	}
	if p.Grams > 0 {
		s = strings.TrimSpace(fmt.Sprintf("%s, %g g", s, p.Grams))
	}
	return strings.TrimPrefix(s, ", ")
}

// packetWords tells what is in a packet.
func packetWords(p book.Packet) string {
	var s []string
	switch {
	case len(p.Heads) > 0:
		s = append(s, strings.Join(p.Heads, ", "))
	case p.Cross != "":
		s = append(s, "cross "+p.Cross)
	case p.FounderGroup != "":
		s = append(s, p.FounderGroup)
	}
	if n := seedsIn(p); n != "" {
		s = append(s, n)
	}
	if p.Place != "" {
		s = append(s, p.Place)
	}
	if p.Cross != "" && p.Dried.IsZero() {
		s = append(s, "to dry")
	}
	return strings.Join(s, ", ")
}

func (a *app) packetDryCommand() *cobra.Command {
	var on, place, paper string
	cmd := &cobra.Command{
		Use:   "dry PACKET…",
		Short: "Note that the seed is dry",
		Long: `Note that the seed in packets is dry: it can be closed and put away. Damp seed
moulds and dies; dry it in paper, in moving air, out of the sun.` + cli.ExitStatuses(""),
		Example: `  hueward packet dry P26-001 P26-002 --place "tin 3"`,
		Args:    cobra.MinimumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			day, err := a.Day("on", on)
			if err != nil {
				return err
			}
			return a.fixPackets(cmd.Context(), args, book.PacketFix{Dried: &day, Place: cli.TextFix(cmd, "place", place),
				Paper: cli.TextFix(cmd, "paper", paper)}, false)
		}),
	}
	cmd.Flags().StringVar(&on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	cmd.Flags().StringVar(&place, "place", "", "`WHERE` it is kept")
	cmd.Flags().StringVar(&paper, "paper", "", "`WHAT` it is kept in")
	return cmd
}

func (a *app) fixPackets(ctx context.Context, names []string, fix book.PacketFix, meant bool) error {
	return a.WithBook(ctx, func(b *book.Book) error {
		var doubts []string
		if fix.Dried != nil && !fix.Dried.IsZero() && !meant {
			var err error
			if doubts, err = garden.DryDoubts(ctx, b, names, *fix.Dried); err != nil {
				return err
			}
		}
		packets, err := b.FixPackets(ctx, names, fix)
		if err == nil {
			for _, d := range doubts {
				a.Warn("%s; if that is wrong: hueward undo", d)
			}
		}
		for _, p := range packets {
			fmt.Fprintf(a.Stdout, "%s  %s\n", p.Name, packetWords(p))
		}
		return err
	})
}

func (a *app) packetFixCommand() *cobra.Command {
	var seeds, made, dried, place, paper, note string
	grams := 0.0
	cmd := &cobra.Command{
		Use:     "fix PACKET…",
		Short:   "Correct packets",
		Long:    `Correct what was noted of packets. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward packet fix P26-001 --seeds 64 --place "tin 2"`,
		Args:    cobra.MinimumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			fix := book.PacketFix{Place: cli.TextFix(cmd, "place", place), Paper: cli.TextFix(cmd, "paper", paper),
				Note: cli.TextFix(cmd, "note", note)}
			var err error
			if fix.Seeds, err = cli.CountFix(cmd, "seeds", seeds); err != nil {
				return err
			}
			if fix.Made, err = a.DayFix(cmd, "filled", made); err != nil {
				return err
			}
			if fix.Dried, err = a.DayFix(cmd, "dried", dried); err != nil {
				return err
			}
			if cmd.Flags().Changed("grams") {
				fix.Grams = &grams
			}
			if fix == (book.PacketFix{}) {
				return cli.Usagef("say what to correct; see hueward packet fix --help")
			}
			return a.fixPackets(cmd.Context(), args, fix, true)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&seeds, "seeds", "", "`N` seeds, or none: not counted")
	f.Float64Var(&grams, "grams", 0, "its seed weighs `G` grams; 0: not weighed")
	f.StringVar(&made, "filled", "", "the `DAY` it was filled, or none")
	f.StringVar(&dried, "dried", "", "the `DAY` it was dry, or none")
	f.StringVar(&place, "place", "", "`WHERE` it is kept, or none")
	f.StringVar(&paper, "paper", "", "`WHAT` it is kept in, or none")
	f.StringVar(&note, "note", "", "the `TEXT` of its note, or none")
	return cmd
}

func (a *app) packetTestCommand() *cobra.Command {
	var on, note string
	var seeds, sprouted int
	cmd := &cobra.Command{
		Use:   "test PACKET",
		Short: "Note a germination test",
		Long: `Note a germination test: with --seeds how many were laid out, with --sprouted how
many of them came up. The seeds count as taken from the packet.` + cli.ExitStatuses(""),
		Example: `  hueward packet test P26-001 --seeds 10
  hueward packet test P26-001 --sprouted 8`,
		Args: cobra.ExactArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			start, read := cmd.Flags().Changed("seeds"), cmd.Flags().Changed("sprouted")
			if start == read {
				return cli.Usagef("say either --seeds N, laid out, or --sprouted N, of those laid out before")
			}
			day, err := a.Day("on", on)
			if err != nil {
				return err
			}
			ctx := cmd.Context()
			b, err := a.OpenBook(ctx)
			if err != nil {
				return err
			}
			defer b.Close()
			if start {
				p, over, err := b.StartTest(ctx, args[0], book.GerminationTest{Started: day, Seeds: seeds, Note: note})
				if err != nil {
					return err
				}
				a.warnOver(p, over)
				fmt.Fprintf(a.Stdout, "%s  %s laid out\n", p.Name, words.Count(seeds, "seed"))
				return nil
			}
			p, err := b.ReadTest(ctx, args[0], sprouted, day, note)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.Stdout, "%s  germination %s\n", p.Name, germination(*p))
			return nil
		}),
	}
	f := cmd.Flags()
	f.IntVar(&seeds, "seeds", 0, "`N` seeds were laid out")
	f.IntVar(&sprouted, "sprouted", 0, "`N` of them sprouted")
	f.StringVar(&on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	f.StringVar(&note, "note", "", "a note on it")
	return cmd
}

// warnOver tells when more was taken from a packet than it held.
func (a *app) warnOver(p *book.Packet, over bool) {
	if over {
		a.Warn("packet %s held %s, and %d were taken from it; noted all the same: correct one of them if it is wrong", p.Name,
			words.Count(*p.Seeds, "seed"), p.Sown)
	}
}

// germination is the share that sprouted of all that was tested and read; empty
// when none was.
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

// testJSON is one germination test of "packet --json".
type testJSON struct {
	Started  string `json:"started"`
	Seeds    int    `json:"seeds"`
	Read     string `json:"read"`
	Sprouted *int   `json:"sprouted"`
	Note     string `json:"note"`
}

// packetJSON is one packet of "packet --json".
type packetJSON struct {
	Packet       string     `json:"packet"`
	Season       string     `json:"season"`
	Line         string     `json:"line"`
	Cross        string     `json:"cross"`
	Heads        []string   `json:"heads"`
	FounderGroup string     `json:"founder_group"`
	Seeds        *int       `json:"seeds"`
	Taken        int        `json:"taken"`
	Made         string     `json:"made"`
	Dried        string     `json:"dried"`
	Place        string     `json:"place"`
	Paper        string     `json:"paper"`
	Tests        []testJSON `json:"tests"`
	Note         string     `json:"note"`
	Grams        *float64   `json:"grams"`
	ByWeight     bool       `json:"seeds_by_weight"`
	Out          []outJSON  `json:"out"`
	SowBy        string     `json:"sow_by"`
	Expected     *float64   `json:"expected"` // share of its seed that is likely to sprout now
}

// outJSON is seed that left a packet.
type outJSON struct {
	Day   string   `json:"day"`
	How   string   `json:"how"`
	Seeds int      `json:"seeds"`
	Grams *float64 `json:"grams"`
	To    string   `json:"to"`
	Note  string   `json:"note"`
}

func (a *app) packets(ctx context.Context, b *book.Book, season, line string, out *terminal.Output) error {
	line, err := garden.LineFilter(ctx, b, line)
	if err != nil {
		return err
	}
	found, err := b.Packets(ctx, season)
	if err != nil {
		return err
	}
	list := []packetJSON{}
	var rows, table [][]string
	for _, p := range found {
		if line != "" && line != p.Line {
			continue
		}
		j := packetJSON{p.Name, p.Season, p.Line, p.Cross, append([]string{}, p.Heads...), p.FounderGroup, p.Seeds, p.Sown, words.Day(p.Made),
			words.Day(p.Dried), p.Place, p.Paper, []testJSON{}, p.Note, weight(p.Grams), p.ByWeight, []outJSON{}, "", nil}
		for _, t := range p.Tests {
			q := testJSON{Started: words.Day(t.Started), Seeds: t.Seeds, Read: words.Day(t.Read), Note: t.Note}
			if !t.Read.IsZero() {
				q.Sprouted = &t.Sprouted
			}
			j.Tests = append(j.Tests, q)
		}
		for _, o := range p.Out {
			j.Out = append(j.Out, outJSON{words.Day(o.On), string(o.How), o.Seeds, weight(o.Grams), o.To, o.Note})
		}
		age, ok, err := garden.AgeOf(ctx, b, &p, a.Today())
		if err != nil {
			return err
		}
		grams := ""
		if ok {
			j.SowBy, j.Expected = words.Day(age.SowBy), &age.Expected
		}
		if p.Grams > 0 {
			grams = strconv.FormatFloat(p.Grams, 'f', -1, 64)
		}
		list = append(list, j)
		rows = append(rows, []string{j.Packet, j.Season, j.Line, j.Cross, strings.Join(j.Heads, " "), j.FounderGroup, words.Number(p.Seeds),
			j.Made, j.Dried, j.Place, j.Paper, j.Note, strconv.Itoa(j.Taken), germination(p), grams,
			strconv.FormatBool(p.ByWeight), j.SowBy})
		left := ""
		if p.Seeds != nil {
			left = strconv.Itoa(*p.Seeds - p.Sown)
		}
		number := words.Number(p.Seeds)
		if p.ByWeight {
			number = "about " + number
		}
		from := p.FounderGroup
		if p.Cross != "" {
			from = p.Cross
		}
		table = append(table, []string{j.Packet, from, j.Line, number, left, germination(p), dried(p), j.SowBy, j.Place, j.Note})
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "No packets.",
		Head: []string{"packet", "season", "line", "cross", "heads", "founder_group", "seeds", "made", "dried", "place", "paper", "note", "taken",
			"germination", "grams", "seeds_by_weight", "sow_by"}, Rows: rows,
		Columns: []terminal.Column{{Head: "packet"}, {Head: "of"}, {Head: "line", Wide: 90}, {Head: "seeds", Right: true},
			{Head: "left", Right: true},
			{Head: "sprouted", Right: true}, {Head: "dry"}, {Head: "sow by"}, {Head: "place", Words: true}, {Head: "note", Words: true}}})
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
