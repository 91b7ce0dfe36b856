package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/report"
	"hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// seasonOptions choose the season and how it is ranked.
type seasonOptions struct{ garden.Options }

type rankOptions struct {
	seasonOptions
	out output
}

func (o *rankOptions) AddFlags(cmd *cobra.Command) {
	o.seasonOptions.AddFlags(cmd)
	o.out.AddFlags(cmd)
}

func (o *seasonOptions) AddFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.Season, "season", "", "the `SEASON` (default: the newest with readings)")
	cmd.Flags().StringArrayVar(&o.Must, "must", nil, "a trait that plants must have to be kept, such as\n`form>=3`; may be repeated")
	cmd.Flags().StringArrayVar(&o.Weigh, "weigh", nil, "a trait that counts too, and by how many Delta E\nfor one standard deviation, such as `form=0.5`;\nmay be repeated")
	cmd.Flags().IntVar(&o.Keep, "keep", 0, "how many plants to keep as parents (default: a quarter, at least 2)")
}

// check completes o by the command's arguments.
func (o *seasonOptions) check(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		o.Line = args[0]
	}
	if cmd.Flags().Changed("keep") && o.Keep < 1 {
		return usagef("--keep %d: want the number of plants to keep, at least 1", o.Keep)
	}
	return nil
}

func (a *app) rankCommand() *cobra.Command {
	o := &rankOptions{}
	cmd := &cobra.Command{
		Use:   "rank [LINE]",
		Short: "Rank a line's plants by how near their offspring will be",
		Long: `Rank the plants of a line by the distance to the target, in Delta E 2000, and say
which to keep as parents, which to hold in reserve and which to pass by. Where
parents are known, the distance is that of what a plant passes on: it is
predicted from the photos of all its relatives, and may differ from the plant's
own colour. Else its own colour counts.

The range after the distance holds the plant's true one in 95 of 100 cases. The
chance is that the plant truly belongs among the kept.` + exitStatuses(""),
		Example: `  hueward rank
  hueward rank "buff apricot" --keep 6 --csv
  hueward rank --must "form>=3"`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: a.completeLine,
		RunE:              a.do(func(cmd *cobra.Command, args []string) error { return a.rank(cmd, args, o) }),
	}
	o.AddFlags(cmd)
	return cmd
}

func (a *app) rank(cmd *cobra.Command, args []string, o *rankOptions) error {
	if err := o.check(cmd, args); err != nil {
		return err
	}
	return a.withSeason(cmd.Context(), o.seasonOptions, func(_ *book.Book, r *garden.Season, s *report.Season) error {
		switch {
		case o.out.json:
			return writeJSON(a.stdout, r.Ranking.JSON(r.Line.Name, r.Season))
		case o.out.csv:
			return report.WriteRankCSV(a.stdout, s)
		}
		a.stdout.ranking(s)
		return nil
	})
}

// withSeason opens the book, ranks the season and hands both to f, with the
// season as a report takes it.
func (a *app) withSeason(ctx context.Context, o seasonOptions, f func(*book.Book, *garden.Season, *report.Season) error) error {
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	r, err := garden.Rank(ctx, b, &o.Options)
	if err != nil {
		return err
	}
	return f(b, r, compose.Season(r, a.now(), version))
}

// ranking prints the ranking for people.
func (s *stream) ranking(r *report.Season) {
	t := r.Target
	aim := "moved toward"
	if r.Aim == report.Hold {
		aim = "held at"
	}
	target := fmt.Sprintf("%s, L* %s a* %s b* %s, %s, within Delta E %s",
		t.Name, fixed(t.Lab.L, 1), fixed(t.Lab.A, 1), fixed(t.Lab.B, 1), t.Hex, fixed(t.Within, 1))
	if b := s.swatch(t.Hex, 4); b != "" {
		target = b + " " + target
	}
	fmt.Fprintf(s, "%s, season %s\n%s %s\n\n", s.strong(r.Line), r.Season, aim, target)
	var rows [][]string
	for _, p := range r.Plants {
		rows = append(rows, []string{
			strconv.Itoa(p.Rank), p.Hex, p.ID, p.Advice, chance(p.ChanceKept),
			fixed(p.DeltaE, 1), fixed(p.Low, 1) + "–" + fixed(p.High, 1), strings.TrimSuffix(p.Direction, " than the target"),
			fixed(p.Lab.L, 1), fixed(p.Lab.A, 1), fixed(p.Lab.B, 1), p.Hex, strconv.Itoa(p.Photos), p.Why,
		})
	}
	s.table([]column{
		{head: "", right: true}, {swatch: true}, {head: "plant"}, {head: "advice"}, {head: "chance", right: true},
		{head: "Delta E", right: true}, {head: "95 %", right: true}, {head: "than the target", words: true},
		{head: "L*", right: true, wide: 90}, {head: "a*", right: true, wide: 90}, {head: "b*", right: true, wide: 90}, {head: "hex"},
		{head: "photos", right: true, wide: 100}, {head: "why", words: true, wide: 170},
	}, rows)
	for _, u := range r.Unmeasured {
		s.say("  ", fmt.Sprintf("%s: not measured; %s", u.ID, u.Why))
	}
	if r.Sure != "" {
		fmt.Fprintln(s)
		s.say("", r.Sure)
	}
	s.doubts(r.Warnings, r.Assumed)
}

// doubts prints what is in doubt, and what was assumed.
func (s *stream) doubts(warnings, assumed []string) {
	for _, w := range warnings {
		s.say("  ", "Note: "+w)
	}
	if len(assumed) > 0 {
		fmt.Fprintln(s, "\nAssumed:")
		for _, w := range assumed {
			s.say("    ", "  "+w)
		}
	}
}
