package record

import (
	"context"

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
	return a.Stdout.List(out, l)
}
