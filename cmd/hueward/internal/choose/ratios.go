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
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/classes"
	"hueward/selection/garden"
	"hueward/selection/genetics"
)

type ratiosOptions struct {
	of, typed, byHand []string
	ratios            []classes.Ratio // that were typed
	season            string
	classes, want     int
	sure, germination float64
	out               terminal.Output
}

func (a *app) ratiosCommand() *cobra.Command {
	o := &ratiosOptions{}
	cmd := &cobra.Command{
		Use:   "ratios [PLANT…]",
		Short: "Sort a family into colour classes and test ratios such as 3:1",
		Long: `Sort the plants of a family into colour classes, and compare their numbers with
the ratios that one or two genes give: 3:1, 1:2:1, 9:3:4 and others.

Name the family by its parents (--of), or name its plants. Classes are found by
colour; where colours alone do not part them, by strong genes that the line's other
families show. Or put plants into classes yourself (--class). A ratio that is not
refuted is not proven: several may agree with the same numbers. If the parents have
colours too, the family's mean is compared with the middle between them: where they
differ, colour does not simply add up.` + cli.ExitStatuses(""),
		Example: `  hueward ratios --of M-07,M-12
  hueward ratios M-01..M-12 --want 5 --germination 80
  hueward ratios --class orange=M-01,M-02 --class cream=M-03 --ratio 3:1`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			f, err := familyOf(ctx, b, args, o)
			if err != nil {
				return err
			}
			switch {
			case o.out.JSON:
				return terminal.WriteJSON(a.Stdout, f.json())
			case o.out.CSV:
				return f.csv(a.Stdout)
			}
			tellFamily(a.Stdout, f, o)
			return nil
		}),
	}
	f := a.Flags(cmd)
	f.Check(o.check)
	f.StringSliceVar(&o.of, "of", nil, "the family's `PARENTS`, seed and pollen parent; one\nfor a selfed plant")
	f.StringArrayVar(&o.typed, "ratio", nil, "a `RATIO` to test, such as 9:3:4; may be repeated\n(default: the usual ones)")
	f.StringArrayVar(&o.byHand, "class", nil, "a class sorted by hand, as `NAME=PLANTS`; may be\nrepeated; ratios take them in this order")
	f.StringVar(&o.season, "season", "", "only plants of this `SEASON`")
	f.IntVar(&o.classes, "classes", 0, "how many classes to find (default: as the colours\nsay)")
	f.IntVar(&o.want, "want", 1, "how many plants of a class you want")
	f.Float64Var(&o.sure, "sure", 95, "with this chance, in `PERCENT`")
	f.Float64Var(&o.germination, "germination", 100, "`PERCENT` of seeds that come up")
	o.out.AddFlags(cmd)
	return cmd
}

func (o *ratiosOptions) check(args []string) error {
	switch {
	case len(o.of) > 2:
		return cli.Usagef("--of: want a seed and a pollen parent, or one plant for its selfs")
	case len(o.of) == 0 && len(args) == 0 && len(o.byHand) == 0:
		return cli.Usagef("which family? name its parents (--of A,B), or its plants, or sort them by hand (--class NAME=PLANTS)")
	case len(o.byHand) == 1:
		return cli.Usagef("--class: one class has no ratio; give two or more")
	case o.classes < 0 || o.classes > 6:
		return cli.Usagef("--classes %d: want a number from 1 to 6", o.classes)
	case o.want < 1 || o.want > 1000:
		return cli.Usagef("--want %d: want a number from 1 to 1000", o.want)
	case !(o.sure > 0 && o.sure < 100):
		return cli.Usagef("--sure %v: want percent, above 0 and below 100", o.sure)
	case !(o.germination > 0 && o.germination <= 100):
		return cli.Usagef("--germination %v: want percent, above 0 and up to 100", o.germination)
	}
	for _, s := range o.typed {
		r, err := classes.ParseRatio(s)
		if err != nil {
			return cli.Usagef("--%v", err)
		}
		o.ratios = append(o.ratios, r)
	}
	return nil
}

// family is the plants that are sorted, and what was found.
type family struct {
	named    string
	classes  []colorClass
	byHand   bool
	genes    bool    // the classes are told by strong genes of the line
	rise     float64 // see [classes.Classes]
	chance   float64
	results  []*classes.Result
	means    []string // of each result's ratio
	adds     *classes.Dominance
	parents  [2]string
	without  int // plants without a colour
	warnings []string
}

// colorClass is one class.
type colorClass struct {
	name   string
	plants []string
	mean   *cie.Lab // nil: no colour is known
	doubt  []string // plants that may as well belong elsewhere
	expect float64  // share that the parents' strong genes let expect; 0: not told by genes
	grow   int
	share  float64
}

// familyOf finds the plants, their colours and classes, and tests the ratios.
func familyOf(ctx context.Context, b *book.Book, args []string, o *ratiosOptions) (*family, error) {
	f := &family{byHand: len(o.byHand) > 0}
	parents, err := b.Which(ctx, o.of)
	if err != nil {
		return nil, err
	}
	if len(parents) > 2 {
		return nil, cli.Usagef("--of %s are %d plants; want a seed and a pollen parent, or one plant for its selfs", strings.Join(o.of, ","),
			len(parents))
	}
	ids, err := f.members(ctx, b, args, parents, o)
	if err != nil {
		return nil, err
	}
	colors, err := pooledColors(ctx, b, slices.Concat(ids, parents))
	if err != nil {
		return nil, err
	}
	if f.byHand {
		err = f.sortByHand(ctx, b, o.byHand, colors)
	} else {
		err = f.sort(ids, colors, o.classes)
	}
	if err != nil {
		return nil, err
	}
	if !f.byHand && o.classes == 0 {
		if err := f.byGenes(ctx, b, colors); err != nil {
			return nil, err
		}
	}
	if err := f.test(o); err != nil {
		return nil, err
	}
	f.dominance(ids, parents, colors)
	return f, nil
}

// members are the plants of the family.
func (f *family) members(ctx context.Context, b *book.Book, args, parents []string, o *ratiosOptions) ([]string, error) {
	if f.byHand {
		var typed []string
		for _, c := range o.byHand {
			_, plants, _ := strings.Cut(c, "=")
			typed = append(typed, strings.Split(plants, ",")...)
		}
		f.named = "sorted by hand"
		return b.Which(ctx, typed)
	}
	var ids []string
	if len(args) > 0 {
		var err error
		if ids, err = b.Which(ctx, args); err != nil {
			return nil, err
		}
		f.named = words.Count(len(ids), "plant")
	}
	if len(parents) > 0 {
		x, y := parents[0], parents[len(parents)-1]
		pedigree, err := b.Pedigree(ctx)
		if err != nil {
			return nil, err
		}
		genes, err := garden.GenotypesOf(ctx, b)
		if err != nil {
			return nil, err
		}
		ids = append(ids, genetics.Family(genes.Pedigree(pedigree), genes.Of(x), genes.Of(y))...) // of seed: a cutting is no draw of genes
		f.named = x + " × " + y
		if x == y {
			f.named = x + " selfed"
		}
		f.parents = [2]string{x, y}
		if len(ids) == 0 {
			return nil, fmt.Errorf("%s: the book has no plant of these parents; name its plants instead", f.named)
		}
	}
	if o.season != "" {
		plants, err := b.Plants(ctx, book.PlantFilter{Season: o.season, IDs: ids})
		if err != nil {
			return nil, err
		}
		ids = words.Each(plants, func(p book.Plant) string { return p.ID })
	}
	slices.SortFunc(ids, selection.CompareIDs)
	return slices.Compact(ids), nil
}

// pooledColors are the plants' colours over all their photos of all seasons.
func pooledColors(ctx context.Context, b *book.Book, ids []string) (map[string]selection.Record, error) {
	readings, err := b.ReadingsOf(ctx, ids...)
	if err != nil {
		return nil, err
	}
	records, err := selection.Records(map[string][]selection.Observation{"": book.Observations(readings)})
	if err != nil {
		return nil, err
	}
	out := map[string]selection.Record{}
	for _, r := range records {
		out[r.Plant] = r
	}
	return out, nil
}

// sort finds the classes by colour.
func (f *family) sort(ids []string, colors map[string]selection.Record, want int) error {
	var some []string
	var x []cie.Lab
	for _, id := range ids {
		if r, ok := colors[id]; ok {
			some, x = append(some, id), append(x, r.Lab)
		} else {
			f.without++
		}
	}
	if len(x) == 0 {
		return fmt.Errorf("%s: no plant has a colour yet; measure photos first", f.named)
	}
	found, err := classes.Find(x, want)
	if err != nil {
		return err
	}
	f.rise, f.chance = found.Rise, found.Chance
	for _, c := range found.Classes {
		k := classOf(some, c.Members, c.Sure)
		k.mean = &c.Mean
		f.classes = append(f.classes, k)
	}
	nameByColor(f.classes)
	return nil
}

// classOf is the class of those of the plants that are its members, each more or less surely.
func classOf[T int | int32](plants []string, members []T, sure []float64) (c colorClass) {
	for i, at := range members {
		c.plants = append(c.plants, plants[at])
		if sure[i] < 0.8 {
			c.doubt = append(c.doubt, plants[at])
		}
	}
	return c
}

// nameByColor names classes by their colours, those of one name with a number.
func nameByColor(list []colorClass) {
	names := map[string]int{}
	for i := range list {
		c := &list[i]
		c.name = cie.Name(*c.mean)
		if names[c.name]++; names[c.name] > 1 {
			c.name += " " + strconv.Itoa(names[c.name])
		}
	}
}

// sortByHand takes the classes as they were given.
func (f *family) sortByHand(ctx context.Context, b *book.Book, typed []string, colors map[string]selection.Record) error {
	in := map[string]string{}
	for _, t := range typed {
		name, plants, ok := strings.Cut(t, "=")
		name = strings.TrimSpace(name)
		if !ok || name == "" || plants == "" {
			return cli.Usagef("--class %q: want a name and plants, such as orange=M-01,M-02", t)
		}
		ids, err := b.Which(ctx, strings.Split(plants, ","))
		if err != nil {
			return err
		}
		c := colorClass{name: name, plants: ids}
		var m [3]float64
		n := 0.0
		for _, id := range ids {
			if other, twice := in[id]; twice {
				return cli.Usagef("--class: plant %s is in %q and in %q; put it into one", id, other, name)
			}
			in[id] = name
			if r, ok := colors[id]; ok {
				m[0], m[1], m[2], n = m[0]+r.Lab.L, m[1]+r.Lab.A, m[2]+r.Lab.B, n+1
			}
		}
		if n > 0 {
			c.mean = &cie.Lab{L: m[0] / n, A: m[1] / n, B: m[2] / n}
		}
		f.classes = append(f.classes, c)
	}
	return nil
}

// test compares the classes with the ratios given, or the usual ones of as many parts.
func (f *family) test(o *ratiosOptions) error {
	var counts []int
	n := 0
	for _, c := range f.classes {
		counts = append(counts, len(c.plants))
		n += len(c.plants)
	}
	for i := range f.classes {
		c := &f.classes[i]
		if c.share = float64(len(c.plants)) / float64(n); len(counts) > 1 {
			c.grow = classes.ToGrow(c.share, o.sure/100, o.want, o.germination/100)
		}
	}
	for _, r := range o.ratios {
		if len(r) != len(counts) {
			return fmt.Errorf("--ratio %s has %d parts, but there are %d classes; sort them otherwise with --classes %d, or by hand with --class", r,
				len(r), len(counts), len(r))
		}
		if err := f.compare(counts, r, "", f.byHand); err != nil {
			return err
		}
	}
	if len(o.ratios) > 0 || len(counts) < 2 {
		return nil
	}
	for _, u := range classes.Usual {
		if len(u.Ratio) == len(counts) {
			if err := f.compare(counts, u.Ratio, u.Means, false); err != nil {
				return err
			}
		}
	}
	return nil
}

// compare tests a ratio, whose parts are in the order of the classes or may be put so that they fit.
func (f *family) compare(counts []int, r classes.Ratio, means string, inOrder bool) error {
	test := classes.Match
	if inOrder {
		test = classes.Test
	}
	q, err := test(counts, r)
	f.results, f.means = append(f.results, q), append(f.means, means)
	return err
}

// dominance compares the family's mean with the middle of its parents.
func (f *family) dominance(ids, parents []string, colors map[string]selection.Record) {
	if len(parents) != 2 || parents[0] == parents[1] {
		return
	}
	p, ok1 := colors[parents[0]]
	q, ok2 := colors[parents[1]]
	if !ok1 || !ok2 {
		f.warnings = append(f.warnings, "it cannot be said whether colour adds up: a parent has no colour in the book")
		return
	}
	m, cov, n := selection.MeanOf(ids, colors)
	if n < 2 {
		return
	}
	d, ok := classes.AddsUp(classes.Group{Mean: p.Lab, Cov: p.Cov}, classes.Group{Mean: q.Lab, Cov: q.Cov}, classes.Group{Mean: m, Cov: cov})
	if ok {
		f.adds = &d
	}
	f.warnings = append(f.warnings, "parents and offspring that were grown in different seasons differ by the weather too")
}
