package record

import (
	"context"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

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
		Args:    cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) (err error) {
			if line, err = garden.LineFilter(ctx, b, line); err != nil {
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
	list := []garden.SelfJSON{}
	var rows, table [][]string
	for _, c := range checks {
		for _, id := range c.Measured {
			j := garden.SelfJSON{Plant: id, Cross: c.Cross.Name, SeedParent: c.Cross.SeedParent, PollenParent: c.Cross.PollenParent,
				Likely: c.Result.Likely[id], Self: c.Result.Self(id), Telling: c.Result.Telling, Noted: c.Noted}
			list = append(list, j)
			say := "no"
			switch {
			case !j.Telling:
				say = "not known: the parents' colours are too alike"
			case j.Self && c.Result.All:
				say = "likely a self, or the seed parent's colour is dominant"
			case j.Self:
				say = "likely a self"
			case j.Likely > 0.5:
				say = "perhaps"
			}
			rows = append(rows, []string{j.Plant, j.Cross, j.SeedParent, j.PollenParent, strconv.FormatFloat(j.Likely, 'f', 3, 64),
				strconv.FormatBool(j.Self), strconv.FormatBool(j.Telling), strconv.FormatBool(j.Noted)})
			table = append(table, []string{j.Plant, c.Cross.Words(), j.Cross, words.Chance(j.Likely), say})
		}
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Rows: rows, Table: slices.Clip(table), None: "No offspring to check.",
		Head: []string{"plant", "cross", "seed_parent", "pollen_parent", "likely", "self", "telling", "noted"},
		Columns: []terminal.Column{{Head: "plant"}, {Head: "of"}, {Head: "cross"}, {Head: "chance", Right: true}, {Head: "a self?",
			Words: true}}})
}
