package choose

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) planCommand() *cobra.Command {
	o := &garden.PlanOptions{}
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "plan [LINE]",
		Short: "Compare how many plants to grow and keep in the coming seasons",
		Long: `Compare what the coming seasons may bring for a few choices of how many plants to
grow and how many of them to keep as parents.

The seasons are simulated many times, starting from what is known now. Each number
is the chance that by then a quarter of a season's plants are within the tolerance
by their genes. Of a held line it also says how many parents keep it from becoming
inbred.` + cli.ExitStatuses(""),
		Example: `  hueward plan
  hueward plan "buff apricot" --choices 40:4,40:8,100:8 --seasons 5`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			p, season, err := garden.Plan(ctx, b, o)
			if err != nil {
				return err
			}
			switch {
			case out.JSON:
				return terminal.WriteJSON(a.Stdout, p.JSON(season.Line.Name, season.Season))
			case out.CSV:
				return writePlanCSV(a.Stdout, p)
			}
			hold, err := compose.HoldWords(ctx, b, season)
			if err == nil {
				tellPlan(a.Stdout, p, season, hold)
			}
			return err
		}),
	}
	f := a.Flags(cmd)
	f.First(&o.Line)
	f.StringVar(&o.Season, "season", "", "the `SEASON` to start from (default: the newest with\nreadings)")
	choices := f.StringSlice("choices", nil,
		"plants to grow and how many of them to keep,\nas `GROW:KEEP`, to compare (default:\n30:4,60:6,120:10; of a held line "+
			"50:10,50:25,100:50)")
	f.IntVar(&o.Seasons, "seasons", compose.PlanSeasons, "how many seasons to look ahead")
	f.BoolVar(&o.NoSelfs, "no-selfs", false, "leave out selfs")
	f.Check(func([]string) (err error) {
		if o.Choices, err = parseChoices(*choices); err == nil && (o.Seasons < 1 || o.Seasons > 20) {
			err = cli.Usagef("--seasons %d: want a number from 1 to 20", o.Seasons)
		}
		return err
	})
	out.AddFlags(cmd)
	return cmd
}

// parseChoices reads "60:6".
func parseChoices(typed []string) ([]selection.Choice, error) {
	var out []selection.Choice
	for _, t := range typed {
		grow, keep, ok := strings.Cut(t, ":")
		g, err1 := strconv.Atoi(strings.TrimSpace(grow))
		k, err2 := strconv.Atoi(strings.TrimSpace(keep))
		if !ok || err1 != nil || err2 != nil {
			return nil, cli.Usagef("--choices %q: want plants to grow and to keep, such as 60:6", t)
		}
		if g < 2 || k < 1 || k > g || g > 2000 {
			return nil, cli.Usagef("--choices %q: grow 2 to 2000, and keep at least 1 and no more than are grown", t)
		}
		out = append(out, selection.Choice{Grow: g, Keep: k})
	}
	if len(out) > 8 {
		return nil, cli.Usagef("--choices: give 1 to 8 of them")
	}
	return out, nil
}

// wideIntensity is the terminal that has room for how strongly parents are selected.
const wideIntensity = 100

// tellPlan prints a plan for people; hold is what is to be said of a held line.
func tellPlan(s *terminal.Stream, p *selection.Plan, season *garden.Season, hold []string) {
	s.Title(season.Line.Name, ", after season "+season.Season)
	held := season.Ranking.Held
	if held {
		s.Say("", "how inbred the plants are, by season")
	} else {
		s.Say("", fmt.Sprintf("chance that a quarter of the plants are, by their genes, within Delta E %s of the target, by season",
			words.Fixed(p.Target.Within, 1)))
	}
	fmt.Fprintln(s)
	columns := []terminal.Column{{Head: "grow", Right: true}, {Head: "keep", Right: true}}
	n := len(p.Courses[0].Reached)
	for k := range n {
		columns = append(columns, terminal.Column{Head: "+" + strconv.Itoa(k+1), Right: true})
	}
	columns = append(columns, []terminal.Column{{Head: "intensity", Right: true, Wide: wideIntensity, Out: held},
		{Head: "half by", Right: true, Out: held}, {Head: "away then", Right: true}, {Head: "inbred then", Right: true, Out: held}}...)
	var rows [][]string
	for _, c := range p.Courses {
		row := []string{strconv.Itoa(c.Grow), strconv.Itoa(c.Keep)}
		if held {
			row = append(row, words.Each(c.Inbreeding, words.Percent)...)
		} else {
			row = append(row, words.Each(c.Reached, words.Chance)...)
		}
		half := "later"
		if c.Half > 0 {
			half = "+" + strconv.Itoa(c.Half)
		}
		rows = append(rows, append(row, words.Fixed(c.Intensity, 2), half, words.Fixed(c.Distance[n-1], 1), words.Percent(c.Inbreeding[n-1])))
	}
	s.Table(columns, rows)
	fmt.Fprintln(s)
	if held {
		s.Say("", fmt.Sprintf("+1 is the next season; \"away then\" is the plants' mean Delta E in season +%d.", n))
	} else {
		s.Say("", fmt.Sprintf("+1 is the next season; \"half by\" is the first season with a chance of a half; "+
			"\"away then\" and \"inbred then\" are the plants' mean Delta E and inbreeding in season +%d.", n))
		if !s.Terminal || s.Width >= wideIntensity {
			s.Say("", "\"intensity\" is how far the parents stand above the mean, in standard deviations.")
		}
	}
	s.Say("", hold...)
	doubts(s, p.Warnings, p.Assumed)
}

func writePlanCSV(w *terminal.Stream, p *selection.Plan) error {
	var rows [][]string
	for _, c := range p.Courses {
		for k, r := range c.Reached {
			rows = append(rows, []string{strconv.Itoa(c.Grow), strconv.Itoa(c.Keep), strconv.Itoa(k + 1), words.Fixed(r, 4),
				words.Fixed(c.Distance[k], 2), words.Fixed(c.Inbreeding[k], 4)})
		}
	}
	return terminal.WriteCSV(w, []string{"grow", "keep", "seasons_ahead", "chance_reached", "mean_delta_e", "inbreeding"}, rows)
}
