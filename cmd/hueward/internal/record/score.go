package record

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/written"
)

type scoreOptions struct {
	plant, trait, on, note string
	out                    terminal.Output
}

func (a *app) scoreCommand() *cobra.Command {
	o := &scoreOptions{}
	cmd := &cobra.Command{
		Use:   "score [PLANT… TRAIT=VALUE…]",
		Short: "Score plants on traits beside colour",
		Long: `Score plants on doubleness, quality of form, habit, vigour, health, stem length,
days to flower, or traits of your own. Several plants and ranges, and several
traits, may be given at once; if one cannot be kept, none is. A
value is a number or one of the scale's words. The newest score counts;
"doubleness=none" takes back what was scored. Without plants, the scores are
listed.` + cli.ExitStatuses(""),
		Example: `  hueward score M-07 doubleness=4 health=sound "stem length=45"
  hueward score M-01..M-05 habit=upright
  hueward score`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.scores(cmd.Context(), b, o) })
			}
			return a.score(cmd.Context(), args, o)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&o.plant, "plant", "", "list only the scores of the plant `ID`, or of a range")
	f.StringVar(&o.trait, "trait", "", "list only the scores of the trait `NAME`")
	f.StringVar(&o.on, "on", "", "the `DAY` it was scored: "+cli.DayForms+" (default: today)")
	f.StringVar(&o.note, "note", "", "a note on each score")
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.scoreTraitCommand())
	return cmd
}

func (a *app) score(ctx context.Context, args []string, o *scoreOptions) error {
	on, err := a.Day("on", o.on)
	if err != nil {
		return err
	}
	var plants, values []string
	for _, arg := range args {
		if strings.Contains(arg, "=") {
			values = append(values, arg)
		} else {
			plants = append(plants, arg)
		}
	}
	switch {
	case len(plants) == 0:
		return cli.Usagef("name the plants to score, such as: hueward score M-07 %s", values[0])
	case len(values) == 0:
		return cli.Usagef("say what to score, such as: hueward score %s doubleness=4", plants[0])
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	names, err := b.Which(ctx, plants)
	if err != nil {
		return err
	}
	var scores []book.Score
	var said []string
	for _, v := range values {
		name, text, _ := strings.Cut(v, "=")
		t, err := b.Trait(ctx, name)
		if errors.Is(err, book.ErrNotFound) {
			return fmt.Errorf(`%w; say what it is: hueward score trait %q --scale 1..5, or --unit cm`, err, strings.TrimSpace(name))
		}
		if err != nil {
			return err
		}
		value := math.NaN()
		if s := strings.ToLower(strings.TrimSpace(text)); s != "none" {
			if value, err = t.Value(text); err != nil {
				return err
			}
			said = append(said, t.Title()+" "+t.Word(value))
		} else {
			said = append(said, t.Title()+" taken back")
		}
		for _, plant := range names {
			scores = append(scores, book.Score{Plant: plant, Trait: t.Name, Value: value, On: on, Note: o.note})
		}
	}
	if err := b.SetScores(ctx, scores...); err != nil {
		return err
	}
	fmt.Fprintf(a.Stdout, "%s: %s\n", strings.Join(names, ", "), strings.Join(said, ", "))
	return nil
}

// scoreJSON is one score of "score --json".
type scoreJSON struct {
	Plant string  `json:"plant"`
	Trait string  `json:"trait"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Word  string  `json:"word"`
	On    string  `json:"on"`
	Note  string  `json:"note"`
}

func (a *app) scores(ctx context.Context, b *book.Book, o *scoreOptions) (err error) {
	plants, err := plantsNamed(ctx, b, o.plant)
	if err != nil {
		return err
	}
	if o.trait != "" {
		t, err := b.Trait(ctx, o.trait)
		if err != nil {
			return err
		}
		o.trait = t.Name
	}
	found, err := b.Scores(ctx, "")
	if err != nil {
		return err
	}
	traits, err := b.Traits(ctx)
	if err != nil {
		return err
	}
	byName := map[string]*book.Trait{}
	for i := range traits {
		byName[traits[i].Name] = &traits[i]
	}
	list := []scoreJSON{}
	var table [][]string
	for _, s := range found {
		if o.trait != "" && s.Trait != o.trait || plants != nil && !slices.Contains(plants, s.Plant) {
			continue
		}
		j := scoreJSON{s.Plant, s.Trait, s.Value, byName[s.Trait].Unit, byName[s.Trait].Word(s.Value), words.Day(s.On), s.Note}
		list = append(list, j)
		table = append(table, []string{j.Plant, byName[s.Trait].Title(), strconv.FormatFloat(j.Value, 'f', -1, 64), j.Unit, j.Word, j.On, j.Note})
	}
	return a.Stdout.List(&o.out, terminal.Listing{Items: list, Table: table, None: "No scores.", Columns: []terminal.Column{
		{Head: "plant"}, {Head: "trait"}, {Head: "value", Right: true}, {Head: "unit"}, {Head: "meaning"}, {Head: "on"},
		{Head: "note", Words: true},
	}})
}

func (a *app) scoreTraitCommand() *cobra.Command {
	var scale, unit, better, words, note string
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "trait [NAME]",
		Short: "Say what plants are scored on",
		Long: `Say what a trait of your own is: its scale or unit, which way is better, and what
the steps mean. Without a name, the traits are listed, with those that can be scored
straight away.` + cli.ExitStatuses(""),
		Example: `  hueward score trait scent --scale 1..3 --words none,faint,strong --better more
  hueward score trait "petal length" --unit mm
  hueward score trait`,
		Args: cobra.MaximumNArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			b, err := a.OpenBook(cmd.Context())
			if err != nil {
				return err
			}
			defer b.Close()
			if len(args) == 0 {
				return a.traits(cmd.Context(), b, &out)
			}
			t := book.Trait{Name: args[0], Unit: unit, Better: better, Note: note}
			if scale != "" {
				low, high, ok := strings.Cut(scale, "..")
				l, err1 := written.Number(low)
				h, err2 := written.Number(high)
				if !ok || err1 != nil || err2 != nil {
					return cli.Usagef("--scale %q: want the least and the greatest value, such as 1..5", scale)
				}
				t.Low, t.High = &l, &h
			}
			if words != "" {
				for w := range strings.SplitSeq(words, ",") {
					t.Words = append(t.Words, strings.TrimSpace(w))
				}
			}
			if err := b.AddTrait(cmd.Context(), t); err != nil {
				return err
			}
			fmt.Fprintf(a.Stdout, "trait %s\n", strings.ToLower(args[0]))
			return nil
		}),
	}
	f := cmd.Flags()
	f.StringVar(&scale, "scale", "", "least and greatest value, such as `1..5`")
	f.StringVar(&unit, "unit", "", "the `UNIT` it is measured in, such as cm")
	f.StringVar(&better, "better", "", "`WHICH` way is better: more or less")
	f.StringVar(&words, "words", "", "what the scale's steps mean, in order: `a,b,c`")
	f.StringVar(&note, "note", "", "a note on it")
	out.AddFlags(cmd)
	return cmd
}

// traits lists the book's traits and the usual ones that it has not yet.
func (a *app) traits(ctx context.Context, b *book.Book, out *terminal.Output) error {
	list, err := b.Traits(ctx)
	if err != nil {
		return err
	}
	have := map[string]bool{}
	for _, t := range list {
		have[t.Name] = true
	}
	for _, t := range book.UsualTraits {
		if !have[t.Name] {
			list = append(list, t)
		}
	}
	type traitJSON struct {
		Name   string   `json:"name"`
		Unit   string   `json:"unit"`
		Low    *float64 `json:"low"`
		High   *float64 `json:"high"`
		Better string   `json:"better"`
		Words  []string `json:"words"`
		Note   string   `json:"note"`
	}
	var all []traitJSON
	var rows [][]string
	number := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	for _, t := range list {
		if t.Words == nil {
			t.Words = []string{}
		}
		all = append(all, traitJSON(t))
		rows = append(rows, []string{t.Name, t.Unit, number(t.Low), number(t.High), t.Better, strings.Join(t.Words, ", "), t.Note})
	}
	table := make([][]string, len(rows))
	for i, r := range rows {
		table[i] = slices.Clone(r)
		table[i][0] = list[i].Title()
	}
	return a.Stdout.List(out, terminal.Listing{Items: all, Head: []string{"trait", "unit", "low", "high", "better", "words", "note"},
		Rows: rows, Table: table,
		Columns: []terminal.Column{{Head: "trait"}, {Head: "unit"}, {Head: "from", Right: true}, {Head: "to", Right: true}, {Head: "better"},
			{Head: "steps", Words: true}, {Head: "note", Words: true, Wide: 110}}})
}
