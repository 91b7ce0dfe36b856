package record

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type crossOptions struct {
	self, open, unknown bool
	heads, seeds        int
	on, line, season    string
	note, stored        string
	out                 terminal.Output
}

func (a *app) crossCommand() *cobra.Command {
	o := &crossOptions{}
	cmd := &cobra.Command{
		Use:   "cross [SEED-PARENT [POLLEN-PARENT]]",
		Short: "Note which plant is crossed with which",
		Long: `Note a cross: the plant that bears the seed, and the plant that gives the pollen.
The same plant twice, or --self, is a selfing; two plants with the same two parents
are a sib cross; --open leaves a plant to bees and wind; --unknown is for pollen
from an unknown plant; --stored names pollen that was collected before. A range such
as M-02..M-05 is crossed plant by plant. The book names the cross, for example
X26-003D; --heads notes that many heads of the seed parent to bag. Without plants,
the season's crosses are listed.

Seed of a protected variety may not be sold or shared without its owner's leave;
breeding with it is allowed in many countries, not all: check yours.` + cli.ExitStatuses("some crosses were refused"),
		Example: `  hueward cross M-02 M-07 --heads 3
  hueward cross M-04 --self
  hueward cross M-02 --stored L26-001
  hueward cross`,
		Args:              cobra.MaximumNArgs(2),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.crosses(cmd.Context(), b, o) })
			}
			return a.cross(cmd, args, o)
		}),
	}
	f := cmd.Flags()
	f.BoolVar(&o.self, "self", false, "pollinated with its own pollen")
	f.BoolVar(&o.open, "open", false, "open-pollinated: left to bees and wind")
	f.BoolVar(&o.unknown, "unknown", false, "pollinated by hand, from an unknown plant")
	f.StringVar(&o.stored, "stored", "", "pollinated by hand with the stored pollen `LOT`, such as L26-001")
	f.IntVar(&o.heads, "heads", 0, "note `N` heads for it")
	f.IntVar(&o.seeds, "seeds", -1, "`N` seeds in all, where no heads are noted")
	f.StringVar(&o.on, "on", "", "the `DAY` it was made: "+cli.DayForms+" (default: today)")
	f.StringVar(&o.line, "line", "", "the line's `NAME` that the offspring belong to (default: the parents')")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: that of the day)")
	f.StringVar(&o.note, "note", "", "a note on it")
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.crossFixCommand(), a.crossSelfsCommand(), a.removeCommand("cross", "X26-003D"))
	return cmd
}

func (a *app) cross(cmd *cobra.Command, args []string, o *crossOptions) error {
	ctx := cmd.Context()
	on, err := a.Day("on", o.on)
	if err != nil {
		return err
	}
	c := book.Cross{SeedParent: args[0], Line: o.line, MadeOn: on, Note: o.note, Seeds: cli.CountFlag(cmd, "seeds", o.seeds)}
	ways := 0
	for way, kind := range map[*bool]book.Kind{&o.self: book.KindSelf, &o.open: book.KindOpen, &o.unknown: book.KindCross} {
		if *way {
			ways++
			c.Kind = kind
		}
	}
	if o.stored != "" {
		c.Pollen = o.stored
		if len(args) == 1 {
			ways++
		}
	}
	switch {
	case len(args) == 2 && ways > 0:
		return cli.Usagef("give a pollen parent, or one of --self, --open and --unknown, not both")
	case len(args) == 1 && ways != 1:
		return cli.Usagef("say where the pollen comes from: a second plant, --stored, --self, --open or --unknown")
	case len(args) == 2:
		c.PollenParent = args[1]
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	if c.Season, err = garden.SeasonOn(ctx, b, o.season, on, a.Now()); err != nil {
		return err
	}
	crosses, err := crossesOf(ctx, b, c)
	if err != nil {
		return err
	}
	for _, c := range crosses {
		err := a.noteCross(ctx, b, c, o.heads)
		if err != nil && len(crosses) == 1 {
			return err
		}
		if err != nil {
			a.Refuse("%s × %s: %s", c.SeedParent, cmp.Or(c.PollenParent, string(c.Kind)), hints.Line(err))
		}
	}
	if a.Refused == len(crosses) {
		return cli.ErrNothing
	}
	return nil
}

// noteCross notes one cross, and tells it.
func (a *app) noteCross(ctx context.Context, b *book.Book, c book.Cross, n int) error {
	made, heads, err := b.AddCross(ctx, c, n)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.Stdout, "%s  %s\n", made.Name, made.Words())
	if len(heads) > 0 {
		var names []string
		for _, h := range heads {
			names = append(names, h.Name)
		}
		what := "bag them before they open"
		if made.Kind == book.KindOpen {
			what = "label them, but do not bag them"
		}
		fmt.Fprintf(a.Stdout, "heads %s: %s\n", strings.Join(names, ", "), what)
	}
	if doubt, err := garden.CrossDoubt(ctx, b, made); err != nil {
		return err
	} else if doubt != "" {
		a.Warn("%s: hueward cross remove %s", doubt, made.Name)
	}
	if err := a.warnPollen(ctx, b, made); err != nil {
		return err
	}
	return a.adviseCross(ctx, b, made)
}

// adviseCross tells what a cross needs that its crop does not do by itself.
func (a *app) adviseCross(ctx context.Context, b *book.Book, c *book.Cross) error {
	advice, err := garden.AdviseCross(ctx, b, c)
	for _, s := range advice {
		a.Stdout.Say("", s)
	}
	return err
}

// crossJSON is one cross of "cross --json".
type crossJSON struct {
	Cross        string `json:"cross"`
	Season       string `json:"season"`
	SeedParent   string `json:"seed_parent"`
	PollenParent string `json:"pollen_parent"`
	MadeOn       string `json:"made_on"`
	Seeds        *int   `json:"seeds"`
	Note         string `json:"note"`
	Line         string `json:"line"`
	Kind         string `json:"kind"`
	Heads        int    `json:"heads"`
	Pollen       string `json:"pollen"` // stored
}

func (a *app) crosses(ctx context.Context, b *book.Book, o *crossOptions) (err error) {
	if o.line, err = garden.LineFilter(ctx, b, o.line); err != nil {
		return err
	}
	found, err := b.Crosses(ctx, o.season)
	if err != nil {
		return err
	}
	list := []crossJSON{}
	var table [][]string
	for _, c := range found {
		if o.line != "" && o.line != c.Line {
			continue
		}
		j := crossJSON{c.Name, c.Season, c.SeedParent, c.PollenParent, words.Day(c.MadeOn), c.Seeds, c.Note, c.Line, string(c.Kind), c.Heads,
			c.Pollen}
		list = append(list, j)
		table = append(table, []string{j.Cross, c.Words(), j.MadeOn, strconv.Itoa(j.Heads), words.Number(c.Seeds), j.Line, j.Season, j.Note})
	}
	return a.Stdout.List(&o.out, terminal.Listing{Items: list, Table: table, None: "No crosses.", Columns: []terminal.Column{
		{Head: "cross"}, {Head: "parents"}, {Head: "made"}, {Head: "heads", Right: true}, {Head: "seeds", Right: true},
		{Head: "line", Wide: 90}, {Head: "season", Wide: 90}, {Head: "note", Words: true},
	}})
}

func (a *app) crossFixCommand() *cobra.Command {
	var pollen, on, note, seeds string
	cmd := &cobra.Command{
		Use:   "fix CROSS",
		Short: "Correct a cross",
		Long: `Correct what was noted of a cross. Plants that came from the cross already get the
corrected pollen parent, too. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward cross fix X26-001Z --pollen M-09
  hueward cross fix X26-001 --seeds none --note "half of it eaten"`,
		Args: cobra.ExactArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			fix := book.CrossFix{PollenParent: cli.TextFix(cmd, "pollen", pollen), Note: cli.TextFix(cmd, "note", note)}
			var err error
			if fix.MadeOn, err = a.DayFix(cmd, "made", on); err != nil {
				return err
			}
			if fix.Seeds, err = cli.CountFix(cmd, "seeds", seeds); err != nil {
				return err
			}
			if fix == (book.CrossFix{}) {
				return cli.Usagef("say what to correct; see hueward cross fix --help")
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error {
				c, err := b.FixCross(cmd.Context(), args[0], fix)
				if err == nil {
					fmt.Fprintf(a.Stdout, "%s  %s\n", c.Name, c.Words())
				}
				return err
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&pollen, "pollen", "", "the pollen parent's `ID`, or none: not known")
	f.StringVar(&on, "made", "", "the `DAY` it was made, or none")
	f.StringVar(&seeds, "seeds", "", "`N` seeds in all, or none")
	f.StringVar(&note, "note", "", "the `TEXT` of its note, or none")
	return cmd
}

// removeCommand takes out what was entered by mistake.
func (a *app) removeCommand(kind, example string) *cobra.Command {
	use := kind
	switch kind {
	case "sowing":
		use = "sow"
	case "plant":
		use = "plants"
	}
	return &cobra.Command{
		Use:   "remove NAME…",
		Short: "Take out what was entered by mistake",
		Long: `Take out something that was entered by mistake. This is refused where something else
in the book depends on it. "hueward undo" brings it back.` + cli.ExitStatuses("some were refused"),
		Example: "  hueward " + use + " remove " + example,
		Args:    cobra.MinimumNArgs(1),
		RunE:    a.InBook(func(ctx context.Context, b *book.Book, args []string) error { return a.remove(ctx, b, kind, args) }),
	}
}

func (a *app) remove(ctx context.Context, b *book.Book, kind string, names []string) error {
	names, err := spread(ctx, b, kind, names)
	if err != nil {
		return err
	}
	var gone []string
	var refused []error
	err = b.Together(ctx, func(b *book.Book) error {
		for _, n := range names {
			full, err := b.Remove(ctx, kind, n)
			switch {
			case err == nil:
				gone = append(gone, full)
			case len(names) == 1:
				return err
			default:
				refused = append(refused, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, err := range refused {
		a.Refuse("%s", hints.Line(err))
	}
	for _, full := range gone {
		fmt.Fprintf(a.Stdout, "%s taken out\n", full)
	}
	if a.Refused == len(names) {
		return cli.ErrNothing
	}
	return nil
}
