package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hueward/selection/classes"
)

// family prints a family's classes and ratios for people.
func (s *stream) family(f *family, o *ratiosOptions) {
	fmt.Fprintf(s, "%s\n\n", s.strong(f.named))
	var rows [][]string
	for _, c := range f.classes {
		hex, lab := "", [3]string{}
		if c.mean != nil {
			hex = c.mean.Hex()
			lab = [3]string{fixed(c.mean.L, 1), fixed(c.mean.A, 1), fixed(c.mean.B, 1)}
		}
		rows = append(rows, []string{hex, c.name, strconv.Itoa(len(c.plants)), percent(c.share), seedsWords(c.grow), lab[0], lab[1], lab[2], strings.Join(c.plants, " ")})
	}
	s.table([]column{{swatch: true}, {head: "class"}, {head: "plants", right: true}, {head: "share", right: true}, {head: "sow", right: true},
		{head: "L*", right: true, wide: 90}, {head: "a*", right: true, wide: 90}, {head: "b*", right: true, wide: 90}, {head: "which", words: true}}, rows)
	fmt.Fprintln(s)
	what := "one plant"
	if o.want > 1 {
		what = strconv.Itoa(o.want) + " plants"
	}
	if len(f.classes) > 1 {
		s.say("", fmt.Sprintf("\"sow\" is how many seeds of this family give %s of the class with a chance of %s %%, if the shares are what they seem.", what, fixed(o.sure, 0)))
	}
	for _, c := range f.classes {
		if len(c.doubt) > 0 {
			s.say("  ", fmt.Sprintf("Note: %s may as well belong to another class than %s; sort them by hand with --class if you see it clearer", strings.Join(c.doubt, ", "), c.name))
		}
	}
	if f.without > 0 {
		s.say("  ", fmt.Sprintf("Note: %d plants have no colour yet and are not counted", f.without))
	}
	fmt.Fprintln(s)
	switch {
	case len(f.classes) == 1:
		s.say("", "All plants are of one colour class: there is no ratio to test.")
	case len(f.results) == 0:
		s.say("", fmt.Sprintf("None of the usual ratios has %d parts.", len(f.classes)))
	default:
		s.ratioTable(f)
	}
	if d := f.adds; d != nil {
		fmt.Fprintln(s)
		s.say("", addsWords(f, d))
	}
	for _, w := range f.warnings {
		s.say("  ", "Note: "+w)
	}
}

func (s *stream) ratioTable(f *family) {
	var rows [][]string
	matched, exact := false, false
	for i, r := range f.results {
		var expected []string
		for _, e := range r.Expected {
			expected = append(expected, fixed(e, 1))
		}
		verdict := "agrees"
		if r.P < 0.05 {
			verdict = "refuted"
		}
		test := fixed(r.Square, 2)
		if r.Exact {
			test, exact = "exact", true
		}
		matched = matched || r.Matched
		rows = append(rows, []string{r.Ratio.String(), verdict, pWords(r.P), test, strings.Join(expected, " "), f.means[i]})
	}
	s.table([]column{{head: "ratio"}, {head: ""}, {head: "p", right: true}, {head: "chi-square", right: true}, {head: "expected"}, {head: "what it would mean", words: true}}, rows)
	fmt.Fprintln(s)
	s.say("", "A ratio that agrees is not proven; p is how often counts so far off would come by chance if it held."+f.tell())
	if matched {
		s.say("  ", "Note: which class is which part was chosen to fit, so p is too kind; with --class you say it beforehand")
	}
	if exact {
		s.say("  ", "Note: where fewer than 5 plants are expected in a class, the exact test is used")
	}
}

// tell says how many plants would tell the first two ratios that agree apart.
func (f *family) tell() string {
	var agree []*classes.Result
	for _, r := range f.results {
		if r.P >= 0.05 {
			agree = append(agree, r)
		}
	}
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
	return fixed(p, 3)
}

// addsWords says whether a family lies in the middle of its parents.
func addsWords(f *family, d *classes.Dominance) string {
	if d.P >= 0.05 {
		return fmt.Sprintf("The family's mean is where the middle of %s and %s is, within its error (p %s): colour adds up, as far as this shows.", f.parents[0], f.parents[1], pWords(d.P))
	}
	nearer := f.parents[1]
	if d.Degree < 0 {
		nearer = f.parents[0]
	}
	side := fmt.Sprintf("it lies %s %% of the way from the middle to %s", fixed(100*math.Abs(d.Degree), 0), nearer)
	if math.Abs(d.Degree) < 2*d.SE {
		side = fmt.Sprintf("it lies off the line between them by Delta E %s", fixed(d.Off, 1))
	}
	return fmt.Sprintf("The family's mean is not the middle of %s and %s (p %s): %s. Colour does not simply add up here, and predictions of crosses are less sure.", f.parents[0], f.parents[1], pWords(d.P), side)
}

// familyJSON is what "ratios --json" prints.
type familyJSON struct {
	Family     string         `json:"family"`
	Classes    []classJSON    `json:"classes"`
	Ratios     []ratioJSON    `json:"ratios"`
	Dominance  *dominanceJSON `json:"dominance"` // null: the parents have no colours
	Unmeasured int            `json:"unmeasured"`
	Warnings   []string       `json:"warnings"`
}

type classJSON struct {
	Name   string      `json:"name"`
	Lab    *[3]float64 `json:"lab"`
	Share  float64     `json:"share"`
	Plants []string    `json:"plants"`
	Doubt  []string    `json:"in_doubt"`
	Grow   *int        `json:"grow"`
}

type ratioJSON struct {
	Ratio    string    `json:"ratio"` // its parts in the order of classes
	Expected []float64 `json:"expected"`
	Square   float64   `json:"chi_square"`
	DF       int       `json:"df"`
	P        float64   `json:"p"`
	Exact    bool      `json:"exact"`
	Matched  bool      `json:"matched"` // the order of parts was chosen to fit
}

type dominanceJSON struct {
	Degree float64 `json:"degree"` // -1 like the first parent, 0 the middle, 1 like the second
	SE     float64 `json:"se"`
	P      float64 `json:"p"`
	Off    float64 `json:"delta_e_off_line"`
}

func (f *family) json() familyJSON {
	out := familyJSON{Family: f.named, Classes: []classJSON{}, Ratios: []ratioJSON{}, Unmeasured: f.without, Warnings: append([]string{}, f.warnings...)}
	for _, c := range f.classes {
		j := classJSON{Name: c.name, Share: c.share, Plants: c.plants, Doubt: append([]string{}, c.doubt...)}
		if c.mean != nil {
			j.Lab = &[3]float64{c.mean.L, c.mean.A, c.mean.B}
		}
		if c.grow > 0 {
			j.Grow = &c.grow
		}
		out.Classes = append(out.Classes, j)
	}
	for _, r := range f.results {
		out.Ratios = append(out.Ratios, ratioJSON{r.Ratio.String(), r.Expected, r.Square, r.DF, r.P, r.Exact, r.Matched})
	}
	if d := f.adds; d != nil {
		out.Dominance = &dominanceJSON{d.Degree, d.SE, d.P, d.Off}
	}
	return out
}

func (f *family) csv(w *stream) error {
	var rows [][]string
	for _, c := range f.classes {
		for _, p := range c.plants {
			rows = append(rows, []string{p, c.name})
		}
	}
	return writeCSV(w, []string{"plant", "class"}, rows)
}
