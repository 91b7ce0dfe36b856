package choose

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// seasonOptions choose the season and how it is ranked.
type seasonOptions struct{ garden.Options }

type rankOptions struct {
	seasonOptions
	out terminal.Output
}

func (o *rankOptions) AddFlags(cmd *cobra.Command) {
	o.seasonOptions.AddFlags(cmd)
	o.out.AddFlags(cmd)
}

func (o *seasonOptions) AddFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.Season, "season", "", "the `SEASON` (default: the newest with readings)")
	cmd.Flags().StringArrayVar(&o.Must, "must", nil, "a trait that plants must have to be kept, such as\n`doubleness>=3`; may be repeated")
	cmd.Flags().StringArrayVar(&o.Weigh, "weigh", nil, "a trait that counts too, and by how many Delta E\nfor one standard deviation, such "+
		"as `health=0.5`;\nmay be repeated")
	cmd.Flags().IntVar(&o.Keep, "keep", 0, "how many plants to keep as parents (default: a quarter, at least 2)")
}

// check completes o by the command's arguments.
func (o *seasonOptions) check(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		o.Line = args[0]
	}
	if cmd.Flags().Changed("keep") && o.Keep < 1 {
		return cli.Usagef("--keep %d: want the number of plants to keep, at least 1", o.Keep)
	}
	return nil
}

func (a *app) rankCommand() *cobra.Command {
	o := &rankOptions{}
	cmd := &cobra.Command{
		Use:   "rank [LINE]",
		Short: "Rank a line's plants by how near the target their offspring will be",
		Long: `Rank the plants of a line by the distance to the target, in Delta E 2000, and say
which to keep as parents, which to hold in reserve and which to drop. Where parents
are known, the distance is that of what a plant passes on: it is predicted from the
photos of all its relatives, and may differ from the plant's own colour. Otherwise
its own colour counts.

The range after the distance holds the plant's true distance in 95 of 100 cases. The
chance is that the plant truly belongs among the kept. A plant that one of the
crosses of "pairs" needs is kept or held in reserve. Of a line that is held, all
plants that are true are kept, and the chance is that the plant is true.` + cli.ExitStatuses(""),
		Example: `  hueward rank
  hueward rank "buff apricot" --keep 6 --csv
  hueward rank --must "doubleness>=3"`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: a.CompleteLine,
		RunE:              a.Do(func(cmd *cobra.Command, args []string) error { return a.rank(cmd, args, o) }),
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
		case o.out.JSON:
			return terminal.WriteJSON(a.Stdout, r.Ranking.JSON(r.Line.Name, r.Season))
		case o.out.CSV:
			return report.WriteRankCSV(a.Stdout, s)
		}
		TellRanking(a.Stdout, s)
		return nil
	})
}

// withSeason opens the book, ranks the season and hands both to f, with the
// season as a report takes it.
func (a *app) withSeason(ctx context.Context, o seasonOptions, f func(*book.Book, *garden.Season, *report.Season) error) error {
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	r, err := garden.Rank(ctx, b, &o.Options)
	if err != nil {
		return err
	}
	return f(b, r, compose.Season(r, a.Now(), a.Version))
}

// TellRanking prints the ranking for people.
func TellRanking(s *terminal.Stream, r *report.Season) {
	t := r.Target
	aim := "moved toward"
	if r.Aim == report.Hold {
		aim = "held at"
	}
	target := fmt.Sprintf("%s, L* %s a* %s b* %s, %s, within Delta E %s",
		t.Name, words.Fixed(t.Lab.L, 1), words.Fixed(t.Lab.A, 1), words.Fixed(t.Lab.B, 1), t.Hex, words.Fixed(t.Within, 1))
	if b := s.Swatch(t.Hex, 4); b != "" {
		target = b + " " + target
	}
	s.Title(r.Line, ", season "+r.Season)
	s.Say("", aim+" "+target)
	fmt.Fprintln(s)
	tellRanks(s, r)
	for _, u := range r.LeftOut {
		s.Say("  ", fmt.Sprintf("%s: %s, and not ranked", u.ID, u.Why))
	}
	for _, u := range r.Unmeasured {
		s.Say("  ", fmt.Sprintf("%s: not measured; %s", u.ID, u.Why))
	}
	if r.Sure != "" {
		fmt.Fprintln(s)
		s.Say("", r.Sure)
	}
	doubts(s, r.Warnings, r.Assumed)
}

// withSecond adds how far the petals' second colours lie from the target's, where one is bred for.
func withSecond(columns []terminal.Column, rows [][]string, plants []report.Plant) ([]terminal.Column, [][]string) {
	if !slices.ContainsFunc(plants, func(p report.Plant) bool { return !math.IsNaN(p.SecondDeltaE) }) {
		return columns, rows
	}
	at := slices.IndexFunc(columns, func(c terminal.Column) bool { return c.Head == "photos" })
	columns = slices.Insert(columns, at, terminal.Column{Head: "second colour", Right: true})
	for i, p := range plants {
		d := "none"
		if !math.IsNaN(p.SecondDeltaE) {
			d = words.Fixed(p.SecondDeltaE, 1)
		}
		rows[i] = slices.Insert(rows[i], at, d)
	}
	return columns, rows
}

// tellRanks prints the table of ranks. The number by which plants are in order stands first: how far what they pass on is
// from the target, or they themselves; with other traits weighed, that less what those bring.
func tellRanks(s *terminal.Stream, r *report.Season) {
	weighed := slices.ContainsFunc(r.Plants, func(p report.Plant) bool { return p.Bonus != 0 })
	by := "itself"
	if r.ByOffspring {
		by = "passes on"
	}
	columns := []terminal.Column{{Head: "", Right: true}, {Swatch: true}, {Head: "plant"}, {Head: "advice"}, {Head: "chance", Right: true}}
	if weighed {
		columns = append(columns, terminal.Column{Head: "with traits", Right: true})
	}
	columns = append(columns, terminal.Column{Head: by, Right: true}, terminal.Column{Head: "95 %", Right: true})
	if r.ByOffspring {
		columns = append(columns, terminal.Column{Head: "itself", Right: true})
	}
	columns = append(columns, []terminal.Column{{Head: "than the target", Words: true, After: true},
		{Head: "L*", Right: true, Wide: 90}, {Head: "a*", Right: true, Wide: 90}, {Head: "b*", Right: true, Wide: 90}, {Head: "hex", Wide: 100},
		{Head: "photos", Right: true, Wide: 100}, {Head: "why", Says: true}}...)
	var rows [][]string
	for i := range r.Plants {
		p := &r.Plants[i]
		row := []string{strconv.Itoa(p.Rank), p.Hex, p.ID, report.AdviceWord(p.Advice), words.Chance(p.ChanceKept)}
		if weighed {
			row = append(row, words.Fixed(p.Sorts(), 1))
		}
		row = append(row, words.Fixed(p.Away(), 1), words.Fixed(p.Nearest(), 1)+"–"+words.Fixed(p.Farthest(), 1))
		if r.ByOffspring {
			row = append(row, words.Fixed(p.DeltaE, 1))
		}
		rows = append(rows, append(row, strings.TrimSuffix(p.Than(), " than the target"),
			words.Fixed(p.Lab.L, 1), words.Fixed(p.Lab.A, 1), words.Fixed(p.Lab.B, 1), p.Hex, strconv.Itoa(p.Photos), p.Why))
	}
	columns, rows = withSecond(columns, rows, r.Plants)
	s.Table(columns, rows)
	switch {
	case weighed && r.ByOffspring:
		s.Say("", "They are sorted by \"with traits\": \"passes on\", less what other traits bring a plant nearer by. \"passes on\" is the "+
			"Delta E between the target and the colour that a plant passes on; \"itself\" and the swatch are its own petals.")
	case weighed:
		s.Say("", "They are sorted by \"with traits\": \"itself\", less what other traits bring a plant nearer by. \"itself\" is the Delta E "+
			"between the target and the plant's own petals.")
	case r.ByOffspring:
		s.Say("", "They are sorted by \"passes on\", the Delta E between the target and the colour that a plant passes on; "+
			"\"itself\" and the swatch are its own petals.")
	default:
		s.Say("", "\"itself\" is the Delta E between the target and the plant's own petals.")
	}
}

// doubts prints what is in doubt, and what was assumed.
func doubts(s *terminal.Stream, warnings, assumed []string) {
	for _, w := range warnings {
		s.Say("  ", "Note: "+w)
	}
	if len(assumed) > 0 {
		fmt.Fprintln(s, "\nAssumed:")
		for _, w := range assumed {
			s.Say("    ", "  "+w)
		}
	}
}
