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

// chosen adds the flags that choose a line's season and how it is ranked.
func (a *app) chosen(cmd *cobra.Command, o *garden.Options) cli.Flags {
	f := a.Flags(cmd)
	f.First(&o.Line)
	f.StringVar(&o.Season, "season", "", "the `SEASON` (default: the newest with readings)")
	f.StringArrayVar(&o.Must, "must", nil, "a trait that plants must have to be kept, such as\n`doubleness>=3`; may be repeated")
	f.StringArrayVar(&o.Weigh, "weigh", nil, "a trait that counts too, and by how many Delta E\nfor one standard deviation, such "+
		"as `health=0.5`;\nmay be repeated")
	f.IntVar(&o.Keep, "keep", 0, "how many plants to keep as parents (default: a quarter, at least 2)")
	f.Check(func([]string) error {
		if f.Changed("keep") && o.Keep < 1 {
			return cli.Usagef("--keep %d: want the number of plants to keep, at least 1", o.Keep)
		}
		return nil
	})
	return f
}

func (a *app) rankCommand() *cobra.Command {
	o := &garden.Options{}
	var out terminal.Output
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
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			r, err := garden.Rank(ctx, b, o)
			if err != nil {
				return err
			}
			s := compose.Season(r, a.Now(), a.Version)
			switch {
			case out.JSON:
				return terminal.WriteJSON(a.Stdout, r.Ranking.JSON(r.Line.Name, r.Season))
			case out.CSV:
				return report.WriteRankCSV(a.Stdout, s)
			}
			TellRanking(a.Stdout, s)
			return nil
		}),
	}
	a.chosen(cmd, o)
	out.AddFlags(cmd)
	return cmd
}

// tellAim prints a line's name, and below it its target behind a swatch.
func tellAim(s *terminal.Stream, line, rest, aim, hex, target string) {
	if b := s.Swatch(hex, 4); b != "" {
		target = b + " " + target
	}
	s.Title(line, rest)
	s.Say("", aim+" "+target)
}

// aimWord says how a line is bred.
func aimWord(held bool) string {
	if held {
		return "held at"
	}
	return "moved toward"
}

// TellRanking prints the ranking for people.
func TellRanking(s *terminal.Stream, r *report.Season) {
	t := r.Target
	tellAim(s, r.Line, ", season "+r.Season, aimWord(r.Aim == report.Hold), t.Hex, fmt.Sprintf("%s, L* %s a* %s b* %s, %s, within Delta E %s",
		t.Name, words.Fixed(t.Lab.L, 1), words.Fixed(t.Lab.A, 1), words.Fixed(t.Lab.B, 1), t.Hex, words.Fixed(t.Within, 1)))
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

// tellRanks prints the table of ranks. The number by which plants are in order stands first: how far what they pass on is
// from the target, or they themselves; with other traits weighed, that less what those bring.
func tellRanks(s *terminal.Stream, r *report.Season) {
	weighed := slices.ContainsFunc(r.Plants, func(p report.Plant) bool { return p.Bonus != 0 })
	second := slices.ContainsFunc(r.Plants, func(p report.Plant) bool { return !math.IsNaN(p.SecondDeltaE) }) // is bred for
	by := "itself"
	if r.ByOffspring {
		by = "passes on"
	}
	var rows [][]string
	for i := range r.Plants {
		p := &r.Plants[i]
		away2 := "none"
		if !math.IsNaN(p.SecondDeltaE) {
			away2 = words.Fixed(p.SecondDeltaE, 1)
		}
		rows = append(rows, []string{strconv.Itoa(p.Rank), p.Hex, p.ID, report.AdviceWord(p.Advice), words.Chance(p.ChanceKept),
			words.Fixed(p.Sorts(), 1), words.Fixed(p.Away(), 1), words.Fixed(p.Nearest(), 1) + "–" + words.Fixed(p.Farthest(), 1),
			words.Fixed(p.DeltaE, 1), strings.TrimSuffix(p.Than(), " than the target"), words.Fixed(p.Lab.L, 1), words.Fixed(p.Lab.A, 1),
			words.Fixed(p.Lab.B, 1), p.Hex, away2, strconv.Itoa(p.Photos), p.Why})
	}
	s.Table([]terminal.Column{{Right: true}, {Swatch: true}, {Head: "plant"}, {Head: "advice"}, {Head: "chance", Right: true},
		{Head: "with traits", Right: true, Out: !weighed}, {Head: by, Right: true}, {Head: "95 %", Right: true},
		{Head: "itself", Right: true, Out: !r.ByOffspring}, {Head: "than the target", Words: true, After: true},
		{Head: "L*", Right: true, Wide: 90}, {Head: "a*", Right: true, Wide: 90}, {Head: "b*", Right: true, Wide: 90},
		{Head: "hex", Wide: 100}, {Head: "second colour", Right: true, Out: !second}, {Head: "photos", Right: true, Wide: 100},
		{Head: "why", Says: true}}, rows)
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
