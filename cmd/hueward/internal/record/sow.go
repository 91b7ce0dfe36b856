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
	"hueward/selection/book/naming"
	"hueward/selection/garden"
	"hueward/selection/intake"
)

type sowOptions struct {
	book.NewSowing
	on     string
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
		Args: cobra.MaximumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.sowings(cmd.Context(), b, o) })
			}
			o.Packet = args[0]
			return a.sow(cmd, o)
		}),
	}
	f := cmd.Flags()
	f.IntVar(&o.Seeds, "seeds", 0, "`N` seeds sown (default: all that are left)")
	f.Float64Var(&o.Grams, "grams", 0, "`G` grams sown; the number of seeds follows from the packet's weight, or from the crop")
	f.StringVar(&o.on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	f.StringVar(&o.Season, "season", "", "the `SEASON` that the plants belong to (default: that of the day)")
	f.StringVar(&o.Line, "line", "", "the line's `NAME` (default: that of the packet)")
	f.StringVar(&o.Note, "note", "", "a note on it")
	addPlantFlags(cmd, &o.plants, &o.ids)
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.sowUpCommand(), a.sowOutCommand(), a.removeCommand("sowing", "S27-001R"))
	return cmd
}

func addPlantFlags(cmd *cobra.Command, plants *int, ids *[]string) {
	cmd.Flags().IntVar(plants, "plants", 0, "add `N` plants, with ids that the book makes")
	cmd.Flags().StringSliceVar(ids, "ids", nil, "add plants with these `IDS`: M-30,M-31 or M-30..M-61")
	terminal.Exclusive(cmd, "plants", "ids")
}

func (a *app) sow(cmd *cobra.Command, o *sowOptions) error {
	ctx := cmd.Context()
	var err error
	if o.Sown, err = a.Day("on", o.on); err != nil {
		return err
	}
	ids, err := naming.Spread(o.ids)
	if err != nil {
		return cli.Usagef("--ids %w", err)
	}
	if cmd.Flags().Changed("seeds") && o.Seeds < 1 {
		return cli.Usagef("--seeds %d: want 1 or more", o.Seeds)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	if o.Season, err = garden.SeasonOn(ctx, b, o.Season, o.Sown, a.Now()); err != nil {
		return err
	}
	if cmd.Flags().Changed("grams") {
		p, err := b.PacketNamed(ctx, o.Packet)
		switch {
		case err != nil:
			return err
		case !(o.Grams > 0):
			return cli.Usagef("--grams %v: want more than 0", o.Grams)
		case o.Seeds == 0:
			if o.Seeds, err = garden.SeedsIn(ctx, b, o.Grams, p.Line, p); err != nil {
				return err
			}
		}
	}
	var w *book.Sowing
	var p *book.Packet
	var names []string
	var over bool
	err = b.Together(ctx, func(b *book.Book) (err error) { // a sowing without its plants would be half of it
		if w, p, err = b.AddSowing(ctx, o.NewSowing); err == nil && (o.plants > 0 || len(ids) > 0) {
			names, over, err = b.CameUp(ctx, w.Name, o.plants, ids)
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

// cameUp adds the plants of a sowing and tells them.
func (a *app) cameUp(ctx context.Context, b *book.Book, sowing string, n int, ids []string) error {
	names, over, err := b.CameUp(ctx, sowing, n, ids)
	if err != nil {
		return err
	}
	return a.tellCameUp(ctx, b, sowing, names, over)
}

func (a *app) tellCameUp(ctx context.Context, b *book.Book, sowing string, names []string, over bool) error {
	if over {
		a.Warn("sowing %s now has more plants than seeds; noted all the same: correct one of them if it is wrong", sowing)
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
		Args: cobra.ExactArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			names, err := naming.Spread(ids)
			if err != nil {
				return cli.Usagef("--ids %w", err)
			}
			if plants < 1 && len(names) == 0 {
				return cli.Usagef("say how many plants came up: --plants N, or their --ids")
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.cameUp(cmd.Context(), b, args[0], plants, names) })
		}),
	}
	addPlantFlags(cmd, &plants, &ids)
	return cmd
}

// sowingJSON is one sowing of "sow --json".
type sowingJSON struct {
	Sowing string `json:"sowing"`
	Packet string `json:"packet"`
	Line   string `json:"line"`
	Season string `json:"season"`
	Sown   string `json:"sown"`
	Seeds  int    `json:"seeds"`
	Plants int    `json:"plants"`
	Note   string `json:"note"`
	// Grams is null where it was not weighed.
	Grams      *float64 `json:"grams"`
	PlantedOut string   `json:"planted_out"`
}

func (a *app) sowings(ctx context.Context, b *book.Book, o *sowOptions) error {
	found, err := b.Sowings(ctx, o.Season)
	if err != nil {
		return err
	}
	list := []sowingJSON{}
	var table [][]string
	for _, w := range found {
		j := sowingJSON{w.Name, w.Packet, w.Line, w.Season, words.Day(w.Sown), w.Seeds, w.Plants, w.Note, weight(w.Grams),
			words.Day(w.PlantedOut)}
		list = append(list, j)
		table = append(table, []string{j.Sowing, j.Packet, j.Line, j.Season, j.Sown, strconv.Itoa(j.Seeds), strconv.Itoa(j.Plants),
			j.PlantedOut, j.Note})
	}
	return a.Stdout.List(&o.out, terminal.Listing{Items: list, Table: table, None: "No sowings.", Columns: []terminal.Column{
		{Head: "sowing"}, {Head: "packet"}, {Head: "line"}, {Head: "season", Wide: 90}, {Head: "sown"}, {Head: "seeds", Right: true},
		{Head: "plants", Right: true}, {Head: "planted out"}, {Head: "note", Words: true},
	}})
}
