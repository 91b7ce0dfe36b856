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

Pollen irritates airways: a mask, if you react.` + cli.ExitStatuses(""),
		Example: `  hueward pollen collect M-07 --place "jar 2, refrigerator"
  hueward pollen dry L26-001
  hueward pollen`,
		Args: cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.allPollen(ctx, b, season, &out) }),
	}
	cmd.Flags().StringVar(&season, "season", "", "list only the `SEASON` in which it was collected")
	out.AddFlags(cmd)
	cmd.AddCommand(a.pollenCollectCommand(), a.pollenDayCommand("dry", "Note that pollen is dry and closed", "Note that pollen is dry: it is "+
		"closed with a drying agent and kept in a\nrefrigerator.", func(f *book.PollenFix, d time.Time) { f.Dried = &d }),
		a.pollenDayCommand("used", "Note that pollen is used up, or thrown away", "Note that pollen is used up, or thrown away.",
			func(f *book.PollenFix, d time.Time) { f.UsedUp = &d }),
		a.pollenFixCommand(), a.removeCommand("pollen", "L26-001H"))
	return cmd
}

func (a *app) pollenCollectCommand() *cobra.Command {
	var p book.Pollen
	var on, until string
	cmd := &cobra.Command{
		Use:   "collect PLANT",
		Short: "Note that pollen of a plant was collected",
		Long: `Note that pollen of a plant was collected: from a bagged flower, as bees mix pollen.
--until says how long it is good, where you know better than the crop's usual days.` + cli.ExitStatuses(""),
		Example:           `  hueward pollen collect M-07 --on yesterday --until 2099-09-01`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			var err error
			if p.Collected, err = a.Day("on", on); err != nil {
				return err
			}
			if p.GoodUntil, err = dayAhead("until", until); err != nil {
				return err
			}
			return a.WithBook(ctx, func(b *book.Book) error {
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
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	f.StringVar(&until, "until", "", "the last `DAY` on which it is good (default: as the crop says)")
	f.StringVar(&p.Season, "season", "", "the `SEASON` (default: that of the day)")
	f.StringVar(&p.Place, "place", "", "`WHERE` it is kept")
	f.StringVar(&p.Note, "note", "", "a note on it")
	return cmd
}

// dayAhead reads a day that may lie ahead; "" is not said.
func dayAhead(flag, s string) (time.Time, error) {
	s = strings.TrimSpace(s)
	if s == "" || strings.EqualFold(s, "none") {
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
	if err == nil {
		_, err = fmt.Fprintf(a.Stdout, "%s  %s\n", p.Name, state)
	}
	return err
}

func (a *app) pollenDayCommand(use, short, long string, set func(*book.PollenFix, time.Time)) *cobra.Command {
	var on string
	cmd := &cobra.Command{
		Use:     use + " POLLEN…",
		Short:   short,
		Long:    long + cli.ExitStatuses(""),
		Example: "  hueward pollen " + use + " L26-001",
		Args:    cobra.MinimumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			day, err := a.Day("on", on)
			if err != nil {
				return err
			}
			var fix book.PollenFix
			set(&fix, day)
			return a.fixPollen(cmd.Context(), args, fix)
		}),
	}
	cmd.Flags().StringVar(&on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	return cmd
}

func (a *app) fixPollen(ctx context.Context, names []string, fix book.PollenFix) error {
	return a.WithBook(ctx, func(b *book.Book) error {
		list, err := b.FixPollen(ctx, names, fix)
		for _, p := range list {
			if err := a.tellPollen(ctx, b, p); err != nil {
				return err
			}
		}
		return err
	})
}

func (a *app) pollenFixCommand() *cobra.Command {
	var collected, dried, until, used, place, note string
	cmd := &cobra.Command{
		Use:     "fix POLLEN…",
		Short:   "Correct stored pollen",
		Long:    `Correct what was noted of stored pollen. "none" takes a value away.` + cli.ExitStatuses(""),
		Example: `  hueward pollen fix L26-001 --until none --place "jar 3"`,
		Args:    cobra.MinimumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			fix := book.PollenFix{Place: cli.TextFix(cmd, "place", place), Note: cli.TextFix(cmd, "note", note)}
			var err error
			if cmd.Flags().Changed("collected") {
				d, err := a.Day("collected", collected)
				if err != nil {
					return err
				}
				fix.Collected = &d
			}
			if fix.Dried, err = a.DayFix(cmd, "dried", dried); err != nil {
				return err
			}
			if fix.UsedUp, err = a.DayFix(cmd, "used", used); err != nil {
				return err
			}
			if cmd.Flags().Changed("until") {
				d, err := dayAhead("until", until)
				if err != nil {
					return err
				}
				fix.GoodUntil = &d
			}
			if fix == (book.PollenFix{}) {
				return cli.Usagef("say what to correct; see hueward pollen fix --help")
			}
			return a.fixPollen(cmd.Context(), args, fix)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&collected, "collected", "", "the `DAY` it was collected")
	f.StringVar(&dried, "dried", "", "the `DAY` it was dry, or none")
	f.StringVar(&until, "until", "", "the last `DAY` on which it is good, or none: as the crop says")
	f.StringVar(&used, "used", "", "the `DAY` it was used up, or none")
	f.StringVar(&place, "place", "", "`WHERE` it is kept, or none")
	f.StringVar(&note, "note", "", "the `TEXT` of its note, or none")
	return cmd
}

// pollenJSON is stored pollen of "pollen --json".
type pollenJSON struct {
	Pollen    string `json:"pollen"`
	Plant     string `json:"plant"`
	Line      string `json:"line"`
	Season    string `json:"season"`
	Collected string `json:"collected"`
	Dried     string `json:"dried"`
	GoodUntil string `json:"good_until"`
	UsedUp    string `json:"used_up"`
	Crosses   int    `json:"crosses"`
	Place     string `json:"place"`
	Note      string `json:"note"`
}

func (a *app) allPollen(ctx context.Context, b *book.Book, season string, out *terminal.Output) error {
	found, err := b.Pollen(ctx, season)
	if err != nil {
		return err
	}
	list := []pollenJSON{}
	var table [][]string
	for _, p := range found {
		until, err := garden.PollenUntil(ctx, b, p)
		if err != nil {
			return err
		}
		j := pollenJSON{p.Name, p.Plant, p.Line, p.Season, words.Day(p.Collected), words.Day(p.Dried), words.Day(until), words.Day(p.UsedUp),
			p.Crosses, p.Place, p.Note}
		list = append(list, j)
		state := j.GoodUntil
		if j.UsedUp != "" {
			state = "used up"
		}
		table = append(table, []string{j.Pollen, j.Plant, j.Collected, dry(p.Dried), state, strconv.Itoa(j.Crosses), j.Place, j.Note})
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "No stored pollen.", Columns: []terminal.Column{
		{Head: "pollen"}, {Head: "of"}, {Head: "collected"}, {Head: "dry"}, {Head: "good until"}, {Head: "crosses", Right: true},
		{Head: "place", Words: true}, {Head: "note", Words: true}}})
}

// warnPollen tells when stored pollen was too old or used up on the day of a cross.
func (a *app) warnPollen(ctx context.Context, b *book.Book, c *book.Cross) error {
	doubt, err := garden.PollenDoubt(ctx, b, c)
	if doubt != "" {
		a.Warn("%s", doubt)
	}
	return err
}
