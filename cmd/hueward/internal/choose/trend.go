package choose

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/trend"
)

func (a *app) trendCommand() *cobra.Command {
	var line, season string
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "trend [LINE]",
		Short: "See whether a line moves or drifts, season by season",
		Long: `See the mean colour of a line in each season, whether it moves toward the
target, what selection gained, and how many seasons remain at this pace.

For a line that is held true it says which plants of the last season are off-type,
and whether the line drifts. It says that a line moves only where chance and weather
would make such differences in fewer than 5 of 100 lines that do not move. Plants of
one bought variety, grown in several seasons and named as a founder group, are taken
as check plants: their changes are the weather's. So are the changes of a cross that
is sown again, from seed kept back, beside newer ones. Without either, only a steady
course over many seasons can be told from weather.` + cli.ExitStatuses(""),
		Example: `  hueward trend
  hueward trend "buff apricot" --json`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			r, line, err := garden.Trend(ctx, b, line, season)
			if err != nil {
				return err
			}
			switch {
			case out.JSON:
				return terminal.WriteJSON(a.Stdout, r.JSON(line.Name))
			case out.CSV:
				return writeTrendCSV(a.Stdout, r)
			}
			tellTrend(a.Stdout, r, line)
			return nil
		}),
	}
	f := a.Flags(cmd)
	f.First(&line)
	f.StringVar(&season, "season", "", "the last `SEASON` to look at (default: the newest)")
	out.AddFlags(cmd)
	return cmd
}

// wideParents is the terminal that has room for what parents and the next season differ by.
const wideParents = 130

// tellTrend prints a line's seasons for people.
func tellTrend(s *terminal.Stream, r *trend.Result, line *book.Line) {
	t := line.Target
	tellAim(s, line.Name, "", aimWord(t.Aim == book.Hold), t.Lab.Hex(), aimWords(t.Lab, r.Target.Within))
	fmt.Fprintln(s)
	var rows [][]string
	for _, q := range r.Seasons {
		hex := q.Mean.Hex()
		row := []string{hex, q.Season, strconv.Itoa(q.Plants), words.Fixed(q.DeltaE, 1), words.Fixed(q.Low, 1) + "–" + words.Fixed(q.High, 1),
			compose.Compared(cie.Direction(q.Mean, r.Target.Lab)), words.Fixed(q.Mean.L, 1), words.Fixed(q.Mean.A, 1),
			words.Fixed(q.Mean.B, 1), hex, "", "", ""}
		if q.Value != nil {
			row[10] = words.Fixed(cie.DeltaE2000(*q.Value, r.Target.Lab), 1)
		}
		if q.Differential != nil {
			row[11] = triple(q.Differential)
		}
		if q.Response != nil {
			row[12] = triple(q.Response)
		}
		rows = append(rows, row)
	}
	s.Table([]terminal.Column{
		{Swatch: true}, {Head: "season"}, {Head: "plants", Right: true}, {Head: "Delta E", Right: true}, {Head: "95 %", Right: true},
		{Head: "mean is", Words: true}, {Head: "L*", Right: true, Wide: 90}, {Head: "a*", Right: true, Wide: 90},
		{Head: "b*", Right: true, Wide: 90}, {Head: "hex", Wide: 110}, {Head: "passed on", Right: true, Wide: 100},
		{Head: "parents differ by", Right: true, Wide: wideParents}, {Head: "next season by", Right: true, Wide: wideParents},
	}, rows)
	differ := func(q trend.Season) bool { return q.Differential != nil || q.Response != nil }
	if (!s.Terminal || s.Width >= wideParents) && slices.ContainsFunc(r.Seasons, differ) {
		s.Say("", "\"parents differ by\" is how far those that became parents are from their season's mean, in L*, a* and b*; "+
			"\"next season by\" is how far the next season's mean is from it.")
	}
	if said := compose.TrendWords(r, t.Aim == book.Hold); len(said) > 0 || len(r.OffTypes) == 0 {
		fmt.Fprintln(s)
		s.Say("", said...)
	}
	if len(r.OffTypes) > 0 {
		fmt.Fprintf(s, "\n%s\n", s.Strong("Off-types to look at"))
		var rows [][]string
		for _, o := range r.OffTypes {
			rows = append(rows, []string{o.Lab.Hex(), o.Plant, words.Fixed(o.DeltaE, 1), o.Direction, o.Lab.Hex()})
		}
		s.Table([]terminal.Column{{Swatch: true}, {Head: "plant"}, {Head: "Delta E", Right: true}, {Head: "than the line's middle", Words: true},
			{Head: "hex"}}, rows)
	}
	doubts(s, r.Warnings, r.Assumed)
}

func triple(v *[3]float64) string {
	return strings.Join(words.Each(v[:], func(x float64) string {
		if x >= 0.05 {
			return "+" + words.Fixed(x, 1)
		}
		return words.Fixed(x, 1)
	}), " ")
}

func writeTrendCSV(w *terminal.Stream, r *trend.Result) error {
	var rows [][]string
	cells := func(v *[3]float64) []string {
		if v == nil {
			return []string{"", "", ""}
		}
		return []string{words.Fixed(v[0], 2), words.Fixed(v[1], 2), words.Fixed(v[2], 2)}
	}
	for _, q := range r.Seasons {
		row := []string{q.Season, strconv.Itoa(q.Plants), words.Fixed(q.Mean.L, 2), words.Fixed(q.Mean.A, 2), words.Fixed(q.Mean.B, 2),
			words.Fixed(q.DeltaE, 2), words.Fixed(q.Low, 2), words.Fixed(q.High, 2), words.Fixed(q.SE, 2), strconv.Itoa(q.Parents)}
		row = append(row, cells(q.Differential)...)
		rows = append(rows, append(row, cells(q.Response)...))
	}
	return terminal.WriteCSV(w, []string{"season", "plants", "mean_L", "mean_a", "mean_b", "delta_e", "delta_e_low", "delta_e_high", "se",
		"parents", "differential_L", "differential_a", "differential_b", "response_L", "response_a", "response_b"}, rows)
}
