package record

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"
	"hueward/selection/written"
)

type scoreOptions struct {
	score          book.Score // day and note of each
	plants, values []string
	plant, trait   string
	out            terminal.Output
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
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if len(args) == 0 {
				return a.scores(ctx, b, o)
			}
			return a.score(ctx, b, o)
		}),
	}
	f := a.Flags(cmd)
	f.StringVar(&o.plant, "plant", "", "list only the scores of the plant `ID`, or of a range")
	f.StringVar(&o.trait, "trait", "", "list only the scores of the trait `NAME`")
	f.Day(&o.score.On, "on", " it was scored")
	f.StringVar(&o.score.Note, "note", "", "a note on each score")
	f.Check(func(args []string) error {
		for _, arg := range args {
			if strings.Contains(arg, "=") {
				o.values = append(o.values, arg)
			} else {
				o.plants = append(o.plants, arg)
			}
		}
		switch {
		case len(args) > 0 && len(o.plants) == 0:
			return cli.Usagef("name the plants to score, such as: hueward score M-07 %s", o.values[0])
		case len(args) > 0 && len(o.values) == 0:
			return cli.Usagef("say what to score, such as: hueward score %s doubleness=4", o.plants[0])
		}
		return nil
	})
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.scoreTraitCommand())
	return cmd
}

func (a *app) score(ctx context.Context, b *book.Book, o *scoreOptions) error {
	names, err := b.Which(ctx, o.plants)
	if err != nil {
		return err
	}
	var scores []book.Score
	var said []string
	for _, v := range o.values {
		name, text, _ := strings.Cut(v, "=")
		t, err := b.Trait(ctx, name)
		if errors.Is(err, book.ErrNotFound) {
			return fmt.Errorf(`%w; say what it is: hueward score trait %q --scale 1..5, or --unit cm`, err, strings.TrimSpace(name))
		}
		if err != nil {
			return err
		}
		s, word := o.score, "taken back"
		s.Trait, s.Value = t.Name, math.NaN()
		if !strings.EqualFold(strings.TrimSpace(text), "none") {
			if s.Value, err = t.Value(text); err != nil {
				return err
			}
			word = t.Word(s.Value)
		}
		said = append(said, t.Title()+" "+word)
		for _, s.Plant = range names {
			scores = append(scores, s)
		}
	}
	return a.Tell(b.SetScores(ctx, scores...), "%s: %s\n", strings.Join(names, ", "), strings.Join(said, ", "))
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
	l := terminal.Listing{Fields: "plant,trait,value,unit,word,on,note", None: "No scores.", Columns: []terminal.Column{{Head: "plant"},
		{Head: "trait", Of: "title"}, {Head: "value", Right: true}, {Head: "unit"}, {Head: "meaning", Of: "word"}, {Head: "on"},
		{Head: "note", Words: true}}}
	for _, s := range found {
		if o.trait != "" && s.Trait != o.trait || plants != nil && !slices.Contains(plants, s.Plant) {
			continue
		}
		t := byName[s.Trait]
		l.Add(s.Plant, s.Trait, s.Value, t.Unit, t.Word(s.Value), s.On, s.Note).Also("title", t.Title())
	}
	return a.Stdout.List(&o.out, l, nil)
}

func (a *app) scoreTraitCommand() *cobra.Command {
	var t book.Trait
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
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if len(args) == 0 {
				return a.traits(ctx, b, &out)
			}
			t.Name = args[0]
			return a.Tell(b.AddTrait(ctx, t), "trait %s\n", strings.ToLower(t.Name))
		}),
	}
	f := a.Flags(cmd)
	f.Given("scale", "least and greatest value, such as `1..5`", func(scale string) error {
		low, high, ok := strings.Cut(scale, "..")
		l, err1 := written.Number(low)
		h, err2 := written.Number(high)
		if !ok || err1 != nil || err2 != nil {
			return cli.Usagef("--scale %q: want the least and the greatest value, such as 1..5", scale)
		}
		t.Low, t.High = &l, &h
		return nil
	})
	f.StringVar(&t.Unit, "unit", "", "the `UNIT` it is measured in, such as cm")
	f.StringVar(&t.Better, "better", "", "`WHICH` way is better: more or less")
	f.Given("words", "what the scale's steps mean, in order: `a,b,c`", func(words string) error {
		for w := range strings.SplitSeq(words, ",") {
			t.Words = append(t.Words, strings.TrimSpace(w))
		}
		return nil
	})
	f.StringVar(&t.Note, "note", "", "a note on it")
	out.AddFlags(cmd)
	return cmd
}

// traits lists the book's traits and the usual ones that it has not yet.
func (a *app) traits(ctx context.Context, b *book.Book, out *terminal.Output) error {
	list, err := b.Traits(ctx)
	for _, t := range book.UsualTraits {
		if !slices.ContainsFunc(list, func(of book.Trait) bool { return of.Name == t.Name }) {
			list = append(list, t)
		}
	}
	l := terminal.Listing{Fields: "name,unit,low,high,better,words,note", CSV: "trait,unit,low,high,better,words,note",
		Columns: []terminal.Column{{Head: "trait", Of: "title"}, {Head: "unit"}, {Head: "from", Of: "low", Right: true},
			{Head: "to", Of: "high", Right: true}, {Head: "better"}, {Head: "steps", Of: "words", Words: true},
			{Head: "note", Words: true, Wide: 110}}}
	for _, t := range list {
		l.Add(t.Name, t.Unit, t.Low, t.High, t.Better, t.Words, t.Note).
			Also("trait", t.Name, "title", t.Title(), "words", strings.Join(t.Words, ", "))
	}
	return a.Stdout.List(out, l, err)
}
