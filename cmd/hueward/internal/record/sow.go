package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/intake"
)

type sowOptions struct {
	book.NewSowing
	plants int
	ids    []string
	out    terminal.Output
}

func (a *app) sowCommand() *cobra.Command {
	o := &sowOptions{}
	cmd := &cobra.Command{
		Use:   "sow [PACKET]",
		Short: "Note what was sown, and the plants that came up",
		Long: `Note that seed of a packet was sown. The book names the sowing, for example
S27-001R. The plants that come up are added with "hueward sow up", or at once with
--plants: their parents, line and generation are those of the seed. Without a
packet, the sowings are listed.

Dressed seed is poisonous: wear gloves, and keep it away from food.` + cli.ExitStatuses(""),
		Example: `  hueward sow P26-001 --seeds 40 --season 2027
  hueward sow up S27-001 --plants 32
  hueward sow`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if len(args) == 0 {
				return a.sowings(ctx, b, o)
			}
			o.Packet = args[0]
			return a.sow(ctx, b, o)
		}),
	}
	f := a.Flags(cmd)
	f.IntVar(&o.Seeds, "seeds", 0, "`N` seeds sown (default: all that are left)")
	f.Float64Var(&o.Grams, "grams", 0, "`G` grams sown; the number of seeds follows from the packet's weight, or from the crop")
	f.Day(&o.Sown, "on", "")
	f.StringVar(&o.Season, "season", "", "the `SEASON` that the plants belong to (default: that of the day)")
	f.StringVar(&o.Line, "line", "", "the line's `NAME` (default: that of the packet)")
	f.StringVar(&o.Note, "note", "", "a note on it")
	addPlantFlags(f, cmd, &o.plants, &o.ids)
	f.Check(func([]string) error {
		switch {
		case f.Changed("seeds") && o.Seeds < 1:
			return cli.Usagef("--seeds %d: want 1 or more", o.Seeds)
		case f.Changed("grams") && !(o.Grams > 0):
			return cli.Usagef("--grams %v: want more than 0", o.Grams)
		}
		return nil
	})
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.sowUpCommand(), a.sowOutCommand(), a.removeCommand("sow", "sowing", "S27-001R"))
	return cmd
}

func addPlantFlags(f cli.Flags, cmd *cobra.Command, plants *int, ids *[]string) {
	f.IntVar(plants, "plants", 0, "add `N` plants, with ids that the book makes")
	f.IDs(ids, "ids", "add plants with these `IDS`: M-30,M-31 or M-30..M-61")
	terminal.Exclusive(cmd, "plants", "ids")
}

func (a *app) sow(ctx context.Context, b *book.Book, o *sowOptions) (err error) {
	if o.Season, err = garden.SeasonOn(ctx, b, o.Season, o.Sown, a.Now()); err != nil {
		return err
	}
	if err := countWeighed(ctx, b, o.Packet, o.Grams, &o.Seeds); err != nil {
		return err
	}
	var w *book.Sowing
	var p *book.Packet
	var names []string
	var over bool
	err = b.Together(ctx, func(b *book.Book) (err error) { // a sowing without its plants would be half of it
		if w, p, err = b.AddSowing(ctx, o.NewSowing); err == nil && (o.plants > 0 || len(o.ids) > 0) {
			names, over, err = b.CameUp(ctx, w.Name, o.plants, o.ids)
		}
		return err
	})
	if err != nil {
		return err
	}
	age, ok, err := garden.AgeOf(ctx, b, p, w.Sown)
	if err != nil {
		return err
	}
	if warning := age.Warning(p.Name, w.Seeds); ok && warning != "" {
		a.Warn("%s", warning)
	}
	a.warnOver(p, p.Seeds != nil && p.Sown > *p.Seeds)
	a.warnEarly(p, w.Sown)
	fmt.Fprintf(a.Stdout, "%s  %s of %s\n", w.Name, words.Count(w.Seeds, "seed"), w.Packet)
	if len(names) == 0 {
		return nil
	}
	return a.tellCameUp(ctx, b, w.Name, names, over)
}

// warnEarly tells of what was done with a packet before it was filled.
func (a *app) warnEarly(p *book.Packet, on time.Time) {
	if d := garden.EarlyDoubt(p, on); d != "" {
		a.Warn("%s; if that is wrong: hueward undo", d)
	}
}

func (a *app) tellCameUp(ctx context.Context, b *book.Book, sowing string, names []string, over bool) error {
	if over {
		a.Warn("sowing %s now has more plants than seeds; noted all the same: correct whichever is wrong", sowing)
	}
	gen, err := generations(ctx, b)
	if err != nil {
		return err
	}
	what := words.Count(len(names), "plant")
	if g := gen[names[0]]; g != "" {
		what += ", " + g
	}
	list := strings.Join(names, ", ")
	if len(names) > 6 {
		list = names[0] + " to " + names[len(names)-1]
	}
	alike, err := intake.Alike(ctx, b, names)
	fmt.Fprintf(a.Stdout, "%s: %s%s\n", what, list, intake.DidYouMean(names, alike))
	return err
}

func (a *app) sowUpCommand() *cobra.Command {
	var plants int
	var ids []string
	cmd := &cobra.Command{
		Use:   "up SOWING",
		Short: "Add the plants that came up",
		Long: `Add the plants that came up from a sowing. The book makes their ids, such as
27-014N, with a last letter that catches a mistyped digit; --ids takes your own.
They are entered as growing; print their tags with "hueward tags".` + cli.ExitStatuses(""),
		Example: `  hueward sow up S27-001 --plants 32
  hueward sow up S27-001 --ids M-30..M-61`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			names, over, err := b.CameUp(ctx, args[0], plants, ids)
			if err != nil {
				return err
			}
			return a.tellCameUp(ctx, b, args[0], names, over)
		}),
	}
	f := a.Flags(cmd)
	addPlantFlags(f, cmd, &plants, &ids)
	f.Check(func([]string) error {
		if plants < 1 && len(ids) == 0 {
			return cli.Usagef("say how many plants came up: --plants N, or their --ids")
		}
		return nil
	})
	return cmd
}

func (a *app) sowings(ctx context.Context, b *book.Book, o *sowOptions) error {
	found, err := b.Sowings(ctx, o.Season)
	l := terminal.Listing{Fields: "sowing,packet,line,season,sown,seeds,plants,note,grams,planted_out", None: "No sowings.",
		Columns: []terminal.Column{{Head: "sowing"}, {Head: "packet"}, {Head: "line"}, {Head: "season", Wide: 90}, {Head: "sown"},
			{Head: "seeds", Right: true}, {Head: "plants", Right: true}, {Head: "planted out", Of: "planted_out"}, {Head: "note", Words: true}}}
	for _, w := range found {
		l.Add(w.Name, w.Packet, w.Line, w.Season, w.Sown, w.Seeds, w.Plants, w.Note, weight(w.Grams), w.PlantedOut)
	}
	return a.Stdout.List(&o.out, l, err)
}

func (a *app) sowOutCommand() *cobra.Command {
	var day time.Time
	cmd := &cobra.Command{
		Use:   "out SOWING…",
		Short: "Note that the plants of sowings were planted out",
		Long: `Note that the plants of sowings were planted out, or that they were sown where they
flower. "none" as the day takes it away.` + cli.ExitStatuses(""),
		Example: `  hueward sow out S27-001`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			what := "planted out " + words.Day(day)
			if day.IsZero() {
				what = "not planted out"
			}
			return a.Tell(b.PlantOut(ctx, day, args...), "%s: %s\n", strings.Join(args, ", "), what)
		}),
	}
	on := cmd.Flags().String("on", "", "the `DAY`: "+cli.DayForms+", or none (default: today)")
	a.Flags(cmd).Check(func([]string) (err error) {
		if !strings.EqualFold(strings.TrimSpace(*on), "none") {
			day, err = a.Day("on", *on)
		}
		return err
	})
	return cmd
}
