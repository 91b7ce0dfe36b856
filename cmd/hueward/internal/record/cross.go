package record

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) crossCommand() *cobra.Command {
	var c book.Cross
	var self, open, unknown bool
	var heads int
	var out terminal.Output
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
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if len(args) == 0 {
				return a.crosses(ctx, b, c.Line, c.Season, &out)
			}
			return a.cross(ctx, b, c, heads)
		}),
	}
	f := a.Flags(cmd)
	f.BoolVar(&self, "self", false, "pollinated with its own pollen")
	f.BoolVar(&open, "open", false, "open-pollinated: left to bees and wind")
	f.BoolVar(&unknown, "unknown", false, "pollinated by hand, from an unknown plant")
	f.StringVar(&c.Pollen, "stored", "", "pollinated by hand with the stored pollen `LOT`, such as L26-001")
	f.IntVar(&heads, "heads", 0, "note `N` heads for it")
	f.Count(&c.Seeds, "seeds", "`N` seeds in all, where no heads are noted")
	f.Day(&c.MadeOn, "on", " it was made")
	f.StringVar(&c.Line, "line", "", "the line's `NAME` that the offspring belong to (default: the parents')")
	f.StringVar(&c.Season, "season", "", "the `SEASON` (default: that of the day)")
	f.StringVar(&c.Note, "note", "", "a note on it")
	out.AddFlags(cmd)
	f.Check(func(args []string) error {
		ways := 0
		for way, kind := range map[*bool]book.Kind{&self: book.KindSelf, &open: book.KindOpen, &unknown: book.KindCross} {
			if *way {
				ways++
				c.Kind = kind
			}
		}
		if c.Pollen != "" && len(args) == 1 {
			ways++
		}
		switch {
		case len(args) == 2 && ways > 0:
			return cli.Usagef("give a pollen parent, or one of --self, --open and --unknown, not both")
		case len(args) == 1 && ways != 1:
			return cli.Usagef("say where the pollen comes from: a second plant, --stored, --self, --open or --unknown")
		case len(args) == 2:
			c.PollenParent = args[1]
		}
		c.SeedParent = strings.Join(args[:min(len(args), 1)], "")
		return nil
	})
	cmd.AddCommand(a.crossFixCommand(), a.crossSelfsCommand(), a.removeCommand("cross", "cross", "X26-003D"))
	return cmd
}

// cross notes the crosses that ranges of parents stand for.
func (a *app) cross(ctx context.Context, b *book.Book, c book.Cross, heads int) (err error) {
	if c.Season, err = garden.SeasonOn(ctx, b, c.Season, c.MadeOn, a.Now()); err != nil {
		return err
	}
	crosses, err := crossesOf(ctx, b, c)
	if err != nil {
		return err
	}
	for _, c := range crosses {
		err := a.noteCross(ctx, b, c, heads)
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
		what := "bag them before they open"
		if made.Kind == book.KindOpen {
			what = "label them, but do not bag them"
		}
		fmt.Fprintf(a.Stdout, "heads %s: %s\n", strings.Join(words.Each(heads, func(h book.Head) string { return h.Name }), ", "), what)
	}
	doubt, err := garden.CrossDoubt(ctx, b, made)
	if err != nil {
		return err
	}
	if doubt != "" {
		a.Warn("%s: hueward cross remove %s", doubt, made.Name)
	}
	if doubt, err = garden.PollenDoubt(ctx, b, made); err != nil {
		return err
	}
	if doubt != "" {
		a.Warn("%s", doubt)
	}
	advice, err := garden.AdviseCross(ctx, b, made)
	a.Stdout.Say("", advice...)
	return err
}

func (a *app) crosses(ctx context.Context, b *book.Book, line, season string, out *terminal.Output) (err error) {
	if line, err = garden.LineFilter(ctx, b, line); err != nil {
		return err
	}
	found, err := b.Crosses(ctx, season)
	l := terminal.Listing{Fields: "cross,season,seed_parent,pollen_parent,made_on,seeds,note,line,kind,heads,pollen", None: "No crosses.",
		Columns: []terminal.Column{{Head: "cross"}, {Head: "parents"}, {Head: "made", Of: "made_on"}, {Head: "heads", Right: true},
			{Head: "seeds", Right: true}, {Head: "line", Wide: 90}, {Head: "season", Wide: 90}, {Head: "note", Words: true}}}
	for _, c := range found {
		if line == "" || line == c.Line {
			l.Add(c.Name, c.Season, c.SeedParent, c.PollenParent, c.MadeOn, c.Seeds, c.Note, c.Line, c.Kind, c.Heads, c.Pollen).
				Also("parents", c.Words())
		}
	}
	return a.Stdout.List(out, l, err)
}

func (a *app) crossFixCommand() *cobra.Command {
	fix := &book.CrossFix{}
	cmd := &cobra.Command{
		Use:   "fix CROSS",
		Short: "Correct a cross",
		Long: `Correct what was noted of a cross. Plants that came from the cross already get the
corrected pollen parent, too. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward cross fix X26-001Z --pollen M-09
  hueward cross fix X26-001 --seeds none --note "half of it eaten"`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			c, err := b.FixCross(ctx, args[0], *fix)
			if err == nil {
				fmt.Fprintf(a.Stdout, "%s  %s\n", c.Name, c.Words())
			}
			return err
		}),
	}
	f := a.Flags(cmd)
	f.TextFix(&fix.PollenParent, "pollen", "the pollen parent's `ID`, or none: not known")
	f.DayFix(&fix.MadeOn, "made", "the `DAY` it was made, or none")
	f.CountFix(&fix.Seeds, "seeds", "`N` seeds in all, or none")
	f.TextFix(&fix.Note, "note", "the `TEXT` of its note, or none")
	cli.Corrects(f, fix)
	return cmd
}

// crossesOf are the crosses that ranges of parents stand for: each seed parent with each pollen parent.
func crossesOf(ctx context.Context, b *book.Book, c book.Cross) ([]book.Cross, error) {
	seeds, err := b.Which(ctx, []string{c.SeedParent})
	if err != nil {
		return nil, fmt.Errorf("seed parent: %w", err)
	}
	pollens := []string{c.PollenParent}
	if c.PollenParent != "" {
		if pollens, err = b.Which(ctx, pollens); err != nil {
			return nil, fmt.Errorf("pollen parent: %w", err)
		}
	}
	if n := len(seeds) * len(pollens); n > mostCrosses {
		return nil, cli.Usagef("that would be %s; note at most %d at once", words.Count(n, "cross"), mostCrosses)
	}
	var out []book.Cross
	for _, s := range seeds {
		for _, p := range pollens {
			one := c
			one.SeedParent, one.PollenParent = s, p
			out = append(out, one)
		}
	}
	return out, nil
}

// mostCrosses is the most that one command notes.
const mostCrosses = 50

func (a *app) crossSelfsCommand() *cobra.Command {
	var line, season string
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "selfs",
		Short: "List offspring that match their seed parent and may be selfs",
		Long: `List the offspring of crosses by hand that match their seed parent in colour and may
be selfs. It looks at crosses in crops that set seed to their own pollen, unless
that was noted as kept out (hueward head HEAD emasculate). It needs parents that
differ in colour and are not related; where nearly all of a family match, the seed
parent's colour may be dominant instead. The ranking says so, too.` + cli.ExitStatuses(""),
		Example: `  hueward cross selfs --season 2026`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			line, err := garden.LineFilter(ctx, b, line)
			if err != nil {
				return err
			}
			checks, err := garden.SelfChecks(ctx, b, line, season)
			if err != nil {
				return err
			}
			return a.tellSelfs(checks, &out)
		}),
	}
	cmd.Flags().StringVar(&line, "line", "", "only offspring of the line `NAME`")
	cmd.Flags().StringVar(&season, "season", "", "only offspring of the `SEASON`")
	out.AddFlags(cmd)
	return cmd
}

func (a *app) tellSelfs(checks []garden.SelfCheck, out *terminal.Output) error {
	l := terminal.Listing{Fields: "plant,cross,seed_parent,pollen_parent,likely,self,telling,noted", None: "No offspring to check.",
		Columns: []terminal.Column{{Head: "plant"}, {Head: "of"}, {Head: "cross"}, {Head: "chance", Right: true}, {Head: "a self?", Words: true}}}
	for _, c := range checks {
		for _, id := range c.Measured {
			likely, self := c.Result.Likely[id], c.Result.Self(id)
			say := "no"
			switch {
			case !c.Result.Telling:
				say = "not known: the parents' colours are too alike"
			case self && c.Result.All:
				say = "likely a self, or the seed parent's colour is dominant"
			case self:
				say = "likely a self"
			case likely > 0.5:
				say = "perhaps"
			}
			l.Add(id, c.Cross.Name, c.Cross.SeedParent, c.Cross.PollenParent, likely, self, c.Result.Telling, c.Noted).
				Also("likely", words.Fixed(likely, 3), "of", c.Cross.Words(), "chance", words.Chance(likely), "a self?", say)
		}
	}
	return a.Stdout.List(out, l, nil)
}
