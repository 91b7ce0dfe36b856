package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type trendOptions struct {
	line, season string
	out          output
}

func (a *app) trendCommand() *cobra.Command {
	o := &trendOptions{}
	cmd := &cobra.Command{
		Use:   "trend [LINE]",
		Short: "See whether a line moves or drifts, season by season",
		Long: `See the mean colour of a line in each season, whether it moves toward the
target, what selection gained, and how many seasons are to go at this pace.

Of a line held true it says which plants of the last season are off-type, and
whether the line drifts. That a line moves is said only where chance and
weather would make such differences in fewer than 5 of 100 lines that stand.
Plants of one bought variety, grown in several seasons and named as a founder
group, are taken as check plants: what they change by is the weather.` + exitStatuses(""),
		Example: `  hueward trend
  hueward trend "buff apricot" --json`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: a.completeLine,
		RunE: a.do(func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				o.line = args[0]
			}
			return a.trend(cmd.Context(), o)
		}),
	}
	cmd.Flags().StringVar(&o.season, "season", "", "the last `SEASON` to look at (default: the newest)")
	o.out.AddFlags(cmd)
	return cmd
}

func (a *app) trend(ctx context.Context, o *trendOptions) error {
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	r, line, err := garden.Trend(ctx, b, o.line, o.season)
	if err != nil {
		return err
	}
	switch {
	case o.out.json:
		return writeJSON(a.stdout, r.JSON(line.Name))
	case o.out.csv:
		return writeTrendCSV(a.stdout, r)
	}
	a.stdout.trend(r, line)
	return nil
}

// trend prints a line's seasons for people.
func (s *stream) trend(r *selection.TrendResult, line *book.Line) {
	t := line.Target
	aim := "moved toward"
	if t.Aim == book.Hold {
		aim = "held at"
	}
	target := fmt.Sprintf("%s, %s, within Delta E %s", cie.Name(t.Lab), t.Lab.Hex(), fixed(r.Target.Within, 1))
	if b := s.swatch(t.Lab.Hex(), 4); b != "" {
		target = b + " " + target
	}
	fmt.Fprintf(s, "%s\n%s %s\n\n", s.strong(line.Name), aim, target)
	var rows [][]string
	for _, q := range r.Seasons {
		hex := q.Mean.Hex()
		row := []string{hex, q.Season, strconv.Itoa(q.Plants), fixed(q.DeltaE, 1), fixed(q.Low, 1) + "–" + fixed(q.High, 1),
			compose.Compared(selection.Direction(q.Mean, r.Target.Lab)), fixed(q.Mean.L, 1), fixed(q.Mean.A, 1), fixed(q.Mean.B, 1), hex, "", "", ""}
		if q.Value != nil {
			row[10] = fixed(cie.DeltaE2000(*q.Value, r.Target.Lab), 1)
		}
		if q.Differential != nil {
			row[11] = triple(q.Differential)
		}
		if q.Response != nil {
			row[12] = triple(q.Response)
		}
		rows = append(rows, row)
	}
	s.table([]column{
		{swatch: true}, {head: "season"}, {head: "plants", right: true}, {head: "Delta E", right: true}, {head: "95 %", right: true}, {head: "mean is", words: true},
		{head: "L*", right: true, wide: 90}, {head: "a*", right: true, wide: 90}, {head: "b*", right: true, wide: 90}, {head: "hex", wide: 110},
		{head: "passed on", right: true, wide: 100}, {head: "parents differ by", right: true, wide: 130}, {head: "next season by", right: true, wide: 130},
	}, rows)
	fmt.Fprintln(s)
	for _, w := range compose.TrendWords(r, t.Aim == book.Hold) {
		s.say("", w)
	}
	if len(r.OffTypes) > 0 {
		fmt.Fprintf(s, "\n%s\n", s.strong("Off-types to look at"))
		var rows [][]string
		for _, o := range r.OffTypes {
			rows = append(rows, []string{o.Lab.Hex(), o.Plant, fixed(o.DeltaE, 1), o.Direction, o.Lab.Hex()})
		}
		s.table([]column{{swatch: true}, {head: "plant"}, {head: "Delta E", right: true}, {head: "than the line's middle", words: true}, {head: "hex"}}, rows)
	}
	s.doubts(r.Warnings, r.Assumed)
}

func triple(v *[3]float64) string {
	var parts []string
	for _, x := range v {
		sign := ""
		if x >= 0.05 {
			sign = "+"
		}
		parts = append(parts, sign+fixed(x, 1))
	}
	return strings.Join(parts, " ")
}

func writeTrendCSV(w *stream, r *selection.TrendResult) error {
	var rows [][]string
	cells := func(v *[3]float64) []string {
		if v == nil {
			return []string{"", "", ""}
		}
		return []string{fixed(v[0], 2), fixed(v[1], 2), fixed(v[2], 2)}
	}
	for _, q := range r.Seasons {
		row := []string{q.Season, strconv.Itoa(q.Plants), fixed(q.Mean.L, 2), fixed(q.Mean.A, 2), fixed(q.Mean.B, 2),
			fixed(q.DeltaE, 2), fixed(q.Low, 2), fixed(q.High, 2), fixed(q.SE, 2), strconv.Itoa(q.Parents)}
		row = append(row, cells(q.Differential)...)
		rows = append(rows, append(row, cells(q.Response)...))
	}
	return writeCSV(w, []string{"season", "plants", "mean_L", "mean_a", "mean_b", "delta_e", "delta_e_low", "delta_e_high", "se", "parents",
		"differential_L", "differential_a", "differential_b", "response_L", "response_a", "response_b"}, rows)
}
