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
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// pairFlags are the flags of how plants are paired.
func (a *app) pairFlags(cmd *cobra.Command, o *garden.PairOptions) {
	f := a.Flags(cmd)
	f.First(&o.Line)
	f.StringVar(&o.Season, "season", "", "the `SEASON` (default: the newest with readings)")
	f.StringSliceVar(&o.Among, "among", nil,
		"the `PLANTS` to pair (default: those that you\nkeep or hold in reserve; else those that rank does)")
	f.IntVar(&o.Crosses, "crosses", 0, "how many crosses to choose together at most\n(default: 6; of a held line as many as parents)")
	f.StringArrayVar(&o.Must, "must", nil, "a trait that plants must have, as for rank")
	f.StringArrayVar(&o.Weigh, "weigh", nil, "a trait that counts too, as for rank")
	f.IntVar(&o.Keep, "keep", 0, "how many plants the ranking keeps, as for rank")
	f.IntVar(&o.Uses, "uses", 3, "in how many of them one plant may be at most")
	f.Float64Var(&o.Inbreeding, "inbreeding", 0, "how much more inbred they may make the line,\nin `PERCENT` (default: 10; of a held line 1)")
	f.BoolVar(&o.NoSelfs, "no-selfs", false, "leave out selfs")
	f.IntVar(&o.BestOf, "best-of", 10, "expect the nearest of so many offspring")
	f.IntVar(&o.Wanted, "wanted", 1, "for how many offspring within the tolerance\nto grow")
	f.Float64Var(&o.Germination, "germination", 0,
		"`PERCENT` of seeds that come up (default: what\nthe line's germination tests say, else 100)")
	f.IntVar(&o.Top, "top", 10, "how many pairs to list")
	f.Check(func([]string) error {
		for _, name := range []string{"crosses", "keep", "uses", "best-of", "wanted", "top"} {
			if n, _ := f.GetInt(name); (n < 1 || n > 10_000) && (f.Changed(name) || n != 0) { // 0: as usual
				return cli.Usagef("--%s %d: want a number from 1 to 10000", name, n)
			}
		}
		for _, name := range []string{"inbreeding", "germination"} {
			if v, _ := f.GetFloat64(name); !(v >= 0 && v <= 100) {
				return cli.Usagef("--%s %v: want percent, from 0 to 100", name, v)
			} else if v == 0 && name == "germination" && f.Changed(name) {
				return cli.Usagef("--%s %v: want percent, above 0 and up to 100", name, v)
			}
		}
		return nil
	})
}

func (a *app) pairsCommand() *cobra.Command {
	o := &garden.PairOptions{}
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "pairs [LINE]",
		Short: "Rank pairs of plants by what their offspring promise",
		Long: `Rank pairs of plants, selfs included, by how near the target their offspring are
expected to be, and choose a few crosses that go well together.

Two plants on opposite sides of the target can be a better pair than the two
nearest. The prediction uses every photo of the plants and of their relatives, and
leaves out what bed and weather add to a single flower. The crosses chosen together
use no plant too often and keep the line from becoming inbred. "sow" is how many
seeds give a chance of 95 % of what is wanted; a dash means that no number does, as
too little is known of the parents.` + cli.ExitStatuses(""),
		Example: `  hueward pairs
  hueward pairs "buff apricot" --among M-01,M-07,M-12 --crosses 3
  hueward pairs --wanted 5 --germination 80 --json`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			season, err := garden.Pairs(ctx, b, o)
			if err != nil {
				return err
			}
			switch {
			case out.JSON:
				return terminal.WriteJSON(a.Stdout, season.Pairing.JSON(season.Line.Name, season.Season))
			case out.CSV:
				return writePairsCSV(a.Stdout, season.Pairing)
			}
			hold, err := compose.HoldWords(ctx, b, season)
			if err == nil {
				tellPairing(a.Stdout, season, append(compose.PairWords(season), hold...))
			}
			return err
		}),
	}
	a.pairFlags(cmd, o)
	out.AddFlags(cmd)
	return cmd
}

// tellPairing prints pairs for people; said is what the chosen crosses have in common.
func tellPairing(s *terminal.Stream, season *garden.Season, said []string) {
	r, t := season.Pairing, season.Line.Target
	head := "Crosses to make together"
	if len(r.Chosen) == 1 {
		head = "The cross to make"
	}
	tellAim(s, season.Line.Name, ", season "+season.Season, "target", t.Lab.Hex(), aimWords(t.Lab, r.Target.Within))
	if len(r.Chosen) > 0 {
		fmt.Fprintf(s, "\n%s\n", s.Strong(head))
		pairTable(s, r.Chosen, season.Ranking.Held)
	}
	fmt.Fprintln(s)
	s.Say("", said...)
	if len(r.Chosen) > 0 {
		s.Say("", fmt.Sprintf("To note one: hueward cross %s %s", r.Chosen[0].SeedParent, mateOf(&r.Chosen[0])))
	}
	tellClasses(s, r)
	more := slices.DeleteFunc(slices.Clone(r.Pairs), func(p selection.Pair) bool { return has(r.Chosen, &p) })
	if !season.Ranking.Held && len(more) > 0 {
		fmt.Fprintf(s, "\n%s\n", s.Strong("Other pairs of these plants"))
		pairTable(s, more, false)
	}
	doubts(s, r.Warnings, r.Assumed)
}

// aimWords are a shade and the distance that is near enough.
func aimWords(c cie.Lab, within float64) string {
	return fmt.Sprintf("%s, %s, within Delta E %s", cie.Name(c), c.Hex(), words.Fixed(within, 1))
}

// tellClasses says which colours strong genes part the chosen crosses' offspring into, and which
// matings would tell what is hidden; nothing where none were found.
func tellClasses(s *terminal.Stream, r *selection.Pairing) {
	said := map[string][]string{} // the crosses of which the same is to be said
	var order []string
	for i := range r.Chosen {
		p := &r.Chosen[i]
		if len(p.Offspring.Kinds) < 2 {
			continue
		}
		var parts []string
		for _, k := range p.Offspring.Kinds {
			m := p.Offspring.Mean
			m.L, m.A, m.B = m.L+k.Shift[0], m.A+k.Shift[1], m.B+k.Shift[2]
			parts = append(parts, words.Percent(k.Share)+" "+cie.Name(m))
		}
		of := strings.Join(parts, ", ")
		if said[of] == nil {
			order = append(order, of)
		}
		said[of] = append(said[of], p.Words())
	}
	for _, of := range order {
		who := strings.Join(said[of], ", ")
		if n := len(said[of]); n > 1 && n == len(r.Chosen) {
			who = "each"
		}
		s.Say("  ", fmt.Sprintf("Of %s: %s", who, of))
	}
	for _, t := range r.Tests[:min(len(r.Tests), 5)] {
		how := "cross it with " + t.With
		if t.Kind == "self" {
			how = "self it"
		}
		s.Say("  ", fmt.Sprintf("To tell whether %s carries a gene that makes flowers %s: %s and grow %d; %s of them show it if it does", t.Plant,
			t.Words, how, t.Plants, words.Percent(t.Share)))
	}
}

// pairTable prints pairs, with what speaks for each; those that hold a line are in the order of a ring, for one reason.
func pairTable(s *terminal.Stream, pairs []selection.Pair, held bool) {
	var rows [][]string
	dash, parted := false, false
	weighed := !held && slices.ContainsFunc(pairs, func(p selection.Pair) bool { return p.Bonus != 0 })
	for i := range pairs {
		p := &pairs[i]
		hex := p.Offspring.Mean.Hex()
		dash = dash || p.Predicted.GrowFor95 == 0
		parted = parted || p.Offspring.Kinds != nil && !held
		rows = append(rows, []string{
			hex, p.Words(), words.Fixed(p.Sorts, 1), words.Fixed(p.Predicted.Distance, 1), words.Fixed(p.DeltaEOfMean, 1),
			words.Chance(p.Predicted.ChanceWithin), words.Fixed(p.Predicted.Best, 1), seedsWords(p.Predicted.GrowFor95),
			words.Percent(p.Inbreeding), hex, p.Why,
		})
	}
	n, wanted := 10, 1
	if len(pairs) > 0 {
		n, wanted = pairs[0].Predicted.N, pairs[0].Predicted.Wanted
	}
	sow := "sow"
	if wanted > 1 {
		sow = "sow for " + strconv.Itoa(wanted)
	}
	sorts := "with F2"
	if weighed {
		sorts = "with traits"
	}
	ordered := !parted && !weighed // by their offspring
	s.Table([]terminal.Column{
		{Swatch: true}, {Head: "pair"}, {Head: sorts, Right: true, Out: ordered}, {Head: "offspring", Right: true}, {Head: "mean", Right: true},
		{Head: "within", Right: true}, {Head: "best of " + strconv.Itoa(n), Right: true}, {Head: sow, Right: true},
		{Head: "inbred", Right: true}, {Head: "hex", Wide: 110}, {Head: "why", Says: true, Out: held},
	}, rows)
	switch {
	case weighed && parted:
		s.Say("", "They are sorted by \"with traits\": the offspring's distance, in which their own offspring count too, less what their "+
			"other traits bring them nearer by.")
	case weighed:
		s.Say("", "They are sorted by \"with traits\": the offspring's distance, less what their other traits bring them nearer by.")
	case parted:
		s.Say("", "They are sorted by \"with F2\", which also counts the offspring's own offspring: strong genes show there.")
	}
	if dash {
		s.Say("", "A dash (–) means that no number of seeds makes it nearly certain, as too little is known about the parents; "+
			"more photos of them would help.")
	}
}

// has reports whether a pair is one of the list.
func has(list []selection.Pair, p *selection.Pair) bool {
	return slices.ContainsFunc(list, func(q selection.Pair) bool { return q.SeedParent == p.SeedParent && q.PollenParent == p.PollenParent })
}

func mateOf(p *selection.Pair) string {
	if p.Kind == selection.KindSelf {
		return "--self"
	}
	return p.PollenParent
}

func seedsWords(n int) string {
	if n == 0 {
		return "–"
	}
	return strconv.Itoa(n)
}

func writePairsCSV(w *terminal.Stream, r *selection.Pairing) error {
	pairs := slices.Clone(r.Pairs)
	for _, p := range r.Chosen {
		if !has(r.Pairs, &p) {
			pairs = append(pairs, p)
		}
	}
	var rows [][]string
	for _, p := range pairs {
		grow := ""
		if p.Predicted.GrowFor95 > 0 {
			grow = strconv.Itoa(p.Predicted.GrowFor95)
		}
		m := p.Offspring.Mean
		rows = append(rows, []string{
			p.SeedParent, p.PollenParent, string(p.Kind), strconv.FormatBool(has(r.Chosen, &p)),
			words.Fixed(m.L, 2), words.Fixed(m.A, 2), words.Fixed(m.B, 2), words.Fixed(p.Predicted.Distance, 2), words.Fixed(p.DeltaEOfMean, 2),
			words.Fixed(p.Predicted.ChanceWithin, 4), strconv.Itoa(p.Predicted.N), words.Fixed(p.Predicted.Best, 2), grow,
			words.Fixed(p.Inbreeding, 4), p.Why, words.Fixed(p.Sorts, 2), words.Fixed(p.Bonus, 2),
		})
	}
	return terminal.WriteCSV(w, []string{"seed_parent", "pollen_parent", "kind", "chosen", "mean_L", "mean_a", "mean_b", "expected_delta_e",
		"delta_e_of_mean", "chance_within", "best_of", "best_delta_e", "grow_for_95", "inbreeding", "why", "sorted_by", "bonus"}, rows)
}
