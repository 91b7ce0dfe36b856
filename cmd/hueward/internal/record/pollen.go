package record

import (
	"context"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) pollenCommand() *cobra.Command {
	var season string
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "pollen",
		Short: "Note stored pollen: collected, dried, good until, used up",
		Long: `Note pollen that is collected for later. The book names it, for example L26-001H,
and says how long it is likely to stay good, by the crop: days for daisies, weeks
for petunias and snapdragons. "hueward today" reminds you to dry it and to use it;
"hueward cross SEED --stored L26-001" notes a cross with it. Without a further word,
the stored pollen is listed.

Pollen irritates airways: wear a mask if you react.` + cli.ExitStatuses(""),
		Example: `  hueward pollen collect M-07 --place "jar 2, refrigerator"
  hueward pollen dry L26-001
  hueward pollen`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.allPollen(ctx, b, season, &out) }),
	}
	cmd.Flags().StringVar(&season, "season", "", "list only the `SEASON` in which it was collected")
	out.AddFlags(cmd)
	var day time.Time
	cmd.AddCommand(a.pollenCollectCommand(), a.pollenDayCommand("dry", "Note that pollen is dry and closed", "Note that pollen is dry: it is "+
		"closed with a drying agent and kept in a\nrefrigerator.", book.PollenFix{Dried: &day}, &day),
		a.pollenDayCommand("used", "Note that pollen is used up, or thrown away", "Note that pollen is used up, or thrown away.",
			book.PollenFix{UsedUp: &day}, &day),
		a.pollenFixCommand(), a.removeCommand("pollen", "pollen", "L26-001H"))
	return cmd
}

func (a *app) pollenCollectCommand() *cobra.Command {
	var p book.Pollen
	cmd := &cobra.Command{
		Use:   "collect PLANT",
		Short: "Note that pollen of a plant was collected",
		Long: `Note that pollen of a plant was collected. Take it from a bagged flower, as bees mix
pollen. --until says how long it stays good, if you know better than the crop's
usual days.` + cli.ExitStatuses(""),
		Example:           `  hueward pollen collect M-07 --on yesterday --until 2099-09-01`,
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) (err error) {
			if p.Plant, err = b.One(ctx, args[0]); err != nil {
				return err
			}
			if p.Season, err = garden.SeasonOn(ctx, b, p.Season, p.Collected, a.Now()); err != nil {
				return err
			}
			made, err := b.AddPollen(ctx, p)
			if err != nil {
				return err
			}
			return a.tellPollen(ctx, b, *made)
		}),
	}
	f := a.Flags(cmd)
	f.Day(&p.Collected, "on", "")
	f.Given("until", "the last `DAY` on which it is good (default: as the crop says)", func(s string) (err error) {
		p.GoodUntil, err = dayAhead("until", s)
		return err
	})
	f.StringVar(&p.Season, "season", "", "the `SEASON` (default: that of the day)")
	f.StringVar(&p.Place, "place", "", "`WHERE` it is kept")
	f.StringVar(&p.Note, "note", "", "a note on it")
	return cmd
}

// dayAhead reads a day that may lie ahead; "" is not said.
func dayAhead(flag, s string) (time.Time, error) {
	if s = strings.TrimSpace(cli.Not(s)); s == "" {
		return time.Time{}, nil
	}
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return d, cli.Usagef("--%s %q: want a date such as 2026-07-14", flag, s)
	}
	return d, nil
}

// tellPollen tells how far stored pollen is.
func (a *app) tellPollen(ctx context.Context, b *book.Book, p book.Pollen) error {
	state, err := garden.PollenWords(ctx, b, p)
	return a.Tell(err, "%s  %s\n", p.Name, state)
}

func (a *app) pollenDayCommand(use, short, long string, fix book.PollenFix, day *time.Time) *cobra.Command {
	cmd := &cobra.Command{
		Use:     use + " POLLEN…",
		Short:   short,
		Long:    long + cli.ExitStatuses(""),
		Example: "  hueward pollen " + use + " L26-001",
		RunE:    a.fixPollen(&fix),
	}
	a.Flags(cmd).Day(day, "on", "")
	return cmd
}

func (a *app) fixPollen(fix *book.PollenFix) func(*cobra.Command, []string) error {
	return a.InBook(func(ctx context.Context, b *book.Book, names []string) error {
		list, err := b.FixPollen(ctx, names, *fix)
		for _, p := range list {
			if err := a.tellPollen(ctx, b, p); err != nil {
				return err
			}
		}
		return err
	})
}

func (a *app) pollenFixCommand() *cobra.Command {
	fix := &book.PollenFix{}
	cmd := &cobra.Command{
		Use:     "fix POLLEN…",
		Short:   "Correct stored pollen",
		Long:    `Correct what was noted of stored pollen. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward pollen fix L26-001 --until none --place "jar 3"`,
		RunE:    a.fixPollen(fix),
	}
	f := a.Flags(cmd)
	f.Given("collected", "the `DAY` it was collected", func(s string) (err error) {
		fix.Collected = new(time.Time)
		*fix.Collected, err = a.Day("collected", s)
		return err
	})
	f.DayFix(&fix.Dried, "dried", "the `DAY` it was dry, or none")
	f.Given("until", "the last `DAY` on which it is good, or none: as the crop says", func(s string) (err error) {
		fix.GoodUntil = new(time.Time)
		*fix.GoodUntil, err = dayAhead("until", s)
		return err
	})
	f.DayFix(&fix.UsedUp, "used", "the `DAY` it was used up, or none")
	f.TextFix(&fix.Place, "place", "`WHERE` it is kept, or none")
	f.TextFix(&fix.Note, "note", "the `TEXT` of its note, or none")
	cli.Corrects(f, fix)
	return cmd
}

func (a *app) allPollen(ctx context.Context, b *book.Book, season string, out *terminal.Output) error {
	found, err := b.Pollen(ctx, season)
	l := terminal.Listing{Fields: "pollen,plant,line,season,collected,dried,good_until,used_up,crosses,place,note", None: "No stored pollen.",
		Columns: []terminal.Column{{Head: "pollen"}, {Head: "of", Of: "plant"}, {Head: "collected"}, {Head: "dry"},
			{Head: "good until", Of: "state"}, {Head: "crosses", Right: true}, {Head: "place", Words: true}, {Head: "note", Words: true}}}
	for _, p := range found {
		until, err := garden.PollenUntil(ctx, b, p)
		if err != nil {
			return err
		}
		state := words.Day(until)
		if !p.UsedUp.IsZero() {
			state = "used up"
		}
		l.Add(p.Name, p.Plant, p.Line, p.Season, p.Collected, p.Dried, until, p.UsedUp, p.Crosses, p.Place, p.Note).
			Also("dry", dry(p.Dried), "state", state)
	}
	return a.Stdout.List(out, l, err)
}
