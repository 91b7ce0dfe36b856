package choose

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/classes"
)

// family prints a family's classes and ratios for people.
func tellFamily(s *terminal.Stream, f *family, o *ratiosOptions) {
	fmt.Fprintf(s, "%s\n\n", s.Strong(f.named))
	var rows [][]string
	for _, c := range f.classes {
		hex, lab := "", [3]string{}
		if c.mean != nil {
			hex = c.mean.Hex()
			lab = [3]string{words.Fixed(c.mean.L, 1), words.Fixed(c.mean.A, 1), words.Fixed(c.mean.B, 1)}
		}
		rows = append(rows, []string{hex, c.name, strconv.Itoa(len(c.plants)), words.Percent(c.share), seedsWords(c.grow), lab[0], lab[1], lab[2],
			strings.Join(c.plants, " ")})
	}
	s.Table([]terminal.Column{{Swatch: true}, {Head: "class"}, {Head: "plants", Right: true}, {Head: "share", Right: true},
		{Head: "sow", Right: true}, {Head: "L*", Right: true, Wide: 90}, {Head: "a*", Right: true, Wide: 90},
		{Head: "b*", Right: true, Wide: 90}, {Head: "which", Words: true}}, rows)
	fmt.Fprintln(s)
	what := "one plant"
	if o.want > 1 {
		what = strconv.Itoa(o.want) + " plants"
	}
	if len(f.classes) > 1 {
		s.Say("", fmt.Sprintf("\"sow\" is how many seeds of this family give %s of the class with a chance of %s %%, if the shares are what "+
			"they seem.", what, words.Fixed(o.sure, 0)))
	}
	for _, c := range f.classes {
		if len(c.doubt) > 0 {
			s.Say("  ", fmt.Sprintf("Note: %s may belong to another class than %s; sort them by hand with --class if you can tell them apart better",
				strings.Join(c.doubt, ", "), c.name))
		}
	}
	if f.without > 0 {
		s.Say("  ", fmt.Sprintf("Note: %d plants have no colour yet and are not counted", f.without))
	}
	fmt.Fprintln(s)
	if f.rise > 0 {
		s.Say("", f.fits())
	}
	if f.genes {
		s.Say("", f.told())
	}
	switch {
	case len(f.classes) == 1:
		s.Say("", "All plants are of one colour class: there is no ratio to test.")
	case len(f.results) == 0:
		s.Say("", fmt.Sprintf("None of the usual ratios has %d parts.", len(f.classes)))
	default:
		ratioTable(s, f)
	}
	if d := f.adds; d != nil {
		fmt.Fprintln(s)
		s.Say("", addsWords(f, d))
	}
	doubts(s, f.warnings, nil)
}

// told says by what the classes are told, and which shares are to be expected.
func (f *family) told() string {
	parts := words.Each(f.classes, func(c colorClass) string { return words.Percent(c.expect) + " " + c.name })
	return "These colours alone would not part the family: its classes are told by strong genes that the line's other plants show. " +
		"From these parents they predict " + strings.Join(parts, ", ") + "."
}

// fits says how much better the classes fit than one.
func (f *family) fits() string {
	often := "in about " + words.Percent(f.chance) + " of families"
	if f.chance < 0.005 {
		often = "in fewer than 1 % of families"
	}
	what := "Two classes would fit a little better than one"
	if len(f.classes) > 1 {
		what = fmt.Sprintf("%d classes fit better than one", len(f.classes))
	}
	return fmt.Sprintf("%s (twice the logarithm of the likelihood is %s higher); a family of one class would look as well split %s.",
		what, words.Fixed(f.rise, 1), often)
}

func ratioTable(s *terminal.Stream, f *family) {
	var rows [][]string
	matched, exact := false, false
	for i, r := range f.results {
		expected := words.Each(r.Expected, func(e float64) string { return words.Fixed(e, 1) })
		verdict := "agrees"
		if r.P < 0.05 {
			verdict = "refuted"
		}
		test := words.Fixed(r.Square, 2)
		if r.Exact {
			test, exact = "exact", true
		}
		matched = matched || r.Matched
		rows = append(rows, []string{r.Ratio.String(), verdict, pWords(r.P), test, strings.Join(expected, " "), f.means[i]})
	}
	s.Table([]terminal.Column{{Head: "ratio"}, {Head: ""}, {Head: "p", Right: true}, {Head: "chi-square", Right: true}, {Head: "expected"},
		{Head: "what it would mean", Words: true}}, rows)
	fmt.Fprintln(s)
	s.Say("", "A ratio that agrees is not proven; p is how often counts so far off would come by chance if it held."+f.tell())
	if matched {
		s.Say("  ", "Note: which part each class is was chosen to fit, so p is too high; with --class you choose it beforehand")
	}
	if exact {
		s.Say("  ", "Note: where fewer than 5 plants are expected in a class, the exact test is used")
	}
}

// tell says how many plants would tell the first two ratios that agree apart.
func (f *family) tell() string {
	agree := slices.DeleteFunc(slices.Clone(f.results), func(r *classes.Result) bool { return r.P < 0.05 })
	if len(agree) < 2 {
		return ""
	}
	n := max(classes.ToTell(agree[0].Ratio, agree[1].Ratio), classes.ToTell(agree[1].Ratio, agree[0].Ratio))
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" To tell %s from %s takes about %d plants.", agree[0].Ratio, agree[1].Ratio, n)
}

func pWords(p float64) string {
	if p < 0.001 {
		return "< 0.001"
	}
	return words.Fixed(p, 3)
}

// addsWords says whether a family lies in the middle of its parents.
func addsWords(f *family, d *classes.Dominance) string {
	if d.P >= 0.05 {
		return fmt.Sprintf("The family's mean lies midway between %s and %s, within its error (p %s): colour adds up, "+
			"as far as this shows.", f.parents[0], f.parents[1], pWords(d.P))
	}
	nearer := f.parents[1]
	if d.Degree < 0 {
		nearer = f.parents[0]
	}
	side := fmt.Sprintf("it lies %s %% of the way from the middle to %s", words.Fixed(100*math.Abs(d.Degree), 0), nearer)
	if math.Abs(d.Degree) < 2*d.SE {
		side = fmt.Sprintf("it lies off the line between them by Delta E %s", words.Fixed(d.Off, 1))
	}
	return fmt.Sprintf("The family's mean does not lie midway between %s and %s (p %s): %s. Colour does not simply add up here, "+
		"and predictions of crosses are less sure.", f.parents[0], f.parents[1], pWords(d.P), side)
}

// json is what "ratios --json" prints. Null are the lab of a class without a colour, the grow of a single class, what strong
// genes let expect where they do not tell the classes, dominance where the parents have no colours, and how much better the
// classes are than one, and how often a family of one would look split so well, where that was not looked for.
func (f *family) json() terminal.Item {
	kinds, ratios := []terminal.Item{}, []terminal.Item{}
	for _, c := range f.classes {
		kinds = append(kinds, terminal.Of("name,lab,share,plants,in_doubt,grow,expected_share", c.name, c.mean, c.share, c.plants, c.doubt,
			terminal.Known(c.grow > 0, c.grow), terminal.Known(f.genes, c.expect)))
	}
	for _, r := range f.results {
		ratios = append(ratios, terminal.Of("ratio,expected,chi_square,df,p,exact,matched",
			r.Ratio.String(), r.Expected, r.Square, r.DF, r.P, r.Exact, r.Matched))
	}
	var dominance *terminal.Item
	if d := f.adds; d != nil {
		dominance = new(terminal.Of("degree,se,p,delta_e_off_line", d.Degree, d.SE, d.P, d.Off))
	}
	return terminal.Of("family,classes,ratios,dominance,unmeasured,better_than_one,better_by_chance,warnings",
		f.named, kinds, ratios, dominance, f.without, terminal.Known(f.rise > 0, f.rise), terminal.Known(f.rise > 0, f.chance), f.warnings)
}

func (f *family) csv(w *terminal.Stream) error {
	var rows [][]string
	for _, c := range f.classes {
		for _, p := range c.plants {
			rows = append(rows, []string{p, c.name})
		}
	}
	return terminal.WriteCSV(w, []string{"plant", "class"}, rows)
}
