package record

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

func (a *app) cropsCommand() *cobra.Command {
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "crops [CROP]",
		Short: "Show, change and add what is usual for each kind of flower",
		Long: `Show what is usual for a kind of flower, from seed to seed: how it germinates, when
to sow and plant out, when it opens, whether own pollen must be kept out of a cross
and how, when and how often to pollinate, when the seed is ripe and how that looks,
how far from others it is saved true, how long seed and pollen live. Most of it is
common practice, not from trials; your variety, climate and weather differ, so
change what you know better. "hueward today" goes by it. Without a crop, all are
listed, with the lines of each. Add a flower that is missing with "crops add".` + cli.ExitStatuses(""),
		Example: `  hueward crops calendula
  hueward crops set calendula ripe=24-30 days=3
  hueward crops line "buff apricot" calendula`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if len(args) == 0 {
				return a.crops(ctx, b, &out)
			}
			return a.crop(ctx, b, args[0], &out)
		}),
		ValidArgsFunction: cobra.FixedCompletions(calendar.CropNames(), cobra.ShellCompDirectiveNoFileComp),
	}
	out.AddFlags(cmd)
	cmd.AddCommand(a.cropsSetCommand(), a.cropsLineCommand(), a.cropsAddCommand(), a.cropsRemoveCommand(), a.cropsFrostCommand())
	return cmd
}

// cropNamed is the crop of that name, with the grower's own values in.
func cropNamed(ctx context.Context, b *book.Book, name string) (calendar.Crop, error) {
	c, err := garden.CropNamed(ctx, b, name)
	if errors.Is(err, book.ErrNotFound) {
		names, err := garden.CropNames(ctx, b)
		if err != nil {
			return c, err
		}
		return c, cli.Usagef("crop %q: want one of %s; or add it: hueward crops add %s", name, strings.Join(names, ", "), calendar.CropKey(name))
	}
	return c, err
}

func (a *app) crops(ctx context.Context, b *book.Book, out *terminal.Output) error {
	crops, err := garden.Crops(ctx, b)
	if err != nil {
		return err
	}
	lines, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	names, err := garden.CropNames(ctx, b)
	l := terminal.Listing{Fields: "crop,title,lines,values", CSV: "crop,lines,days,ripe,flower,seeds,hold",
		Columns: []terminal.Column{{Head: "crop"}, {Of: "title", Words: true, Wide: 100}, {Head: "lines", Words: true},
			{Head: "pollinate", Of: "days", Right: true}, {Head: "ripe after", Of: "ripe", Right: true},
			{Head: "sown to flower", Of: "flower", Right: true}, {Head: "seeds", Right: true}, {Head: "hold with", Of: "hold", Right: true}}}
	for _, name := range names {
		var its []string
		for _, n := range lines {
			if crops.Lines[n.Name] == name {
				its = append(its, n.Name)
			}
		}
		values := map[string]string{}
		i := l.Add(name, crops.By[name].Title, its, values)
		i.Also("lines", strings.Join(its, ", "))
		for _, v := range crops.By[name].Values() {
			values[v.Field] = v.Value
			i.Also(v.Field, v.Value)
		}
	}
	err = a.Stdout.List(out, l, err)
	if err == nil && out.People() {
		a.Stdout.Say("", "Times are in days; \"hold with\" is how many plants hold a variety. Common practice, not from trials: see "+
			"hueward crops CROP.")
	}
	return err
}

func (a *app) crop(ctx context.Context, b *book.Book, name string, out *terminal.Output) error {
	c, err := cropNamed(ctx, b, name)
	if err != nil {
		return err
	}
	crops, err := garden.Crops(ctx, b)
	if err != nil {
		return err
	}
	l := terminal.Listing{Fields: "field,value,unit,means,own", CSV: "field,value,unit,means,whose", Columns: []terminal.Column{{Of: "field"},
		{Head: "value", Of: "with unit", Words: true}, {Head: "meaning", Of: "means", Words: true}, {Head: "whose"}}}
	for _, v := range c.Values() {
		mine, whose, unit := crops.Own[c.Name+" "+v.Field], "usual", v.Unit
		if mine {
			whose = "yours"
		}
		if v.Value == "1" {
			unit = strings.TrimSuffix(unit, "s")
		}
		l.Add(v.Field, v.Value, v.Unit, v.Means, mine).Also("whose", whose, "with unit", strings.TrimSpace(v.Value+" "+unit))
	}
	if out.People() {
		fmt.Fprintf(a.Stdout, "%s\n\n", c.Title)
	}
	return a.Stdout.List(out, l, nil)
}

func (a *app) cropsSetCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "set CROP FIELD=VALUE…",
		Short: "Change what is usual for a crop",
		Long: `Change values of a crop: a number (days=3), a span (ripe=24-30), or words
(look="pods rattle"). "FIELD=usual" takes your own value away. If one of them cannot
be changed, none is.` + cli.ExitStatuses(""),
		Example: `  hueward crops set calendula ripe=24-30 days=3
  hueward crops set calendula ripe=usual`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			values, err := cropValues(args[1:])
			if err != nil {
				return err
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error {
				c, err := cropNamed(cmd.Context(), b, args[0])
				if err != nil {
					return err
				}
				for i, v := range values {
					values[i].Crop = c.Name
					if v.Value == "" {
						continue
					}
					if c, err = c.With(v.Field, v.Value); err != nil {
						return cli.Usagef("%w", err)
					}
				}
				if err := b.SetCropValues(cmd.Context(), values...); err != nil {
					return err
				}
				return a.crop(cmd.Context(), b, c.Name, &terminal.Output{})
			})
		}),
	}
}

func (a *app) cropsLineCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "line LINE CROP",
		Short:   "Say which crop a line is",
		Long:    `Say which crop a line is, so that "hueward today" knows its usual times.` + cli.ExitStatuses(""),
		Example: `  hueward crops line "buff apricot" calendula`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			c, err := cropNamed(ctx, b, args[1])
			if err != nil {
				return err
			}
			line, err := garden.LineNamed(ctx, b, args[0])
			if err != nil {
				return err
			}
			return a.Tell(b.SetLineCrop(ctx, line.Name, c.Name), "%s: %s\n", line.Name, c.Title)
		}),
	}
}

func (a *app) cropsAddCommand() *cobra.Command {
	var title, like string
	cmd := &cobra.Command{
		Use:   "add CROP [FIELD=VALUE…]",
		Short: "Add a crop of your own, or a copy of another",
		Long: `Add a crop of your own. It starts with the values of the crop that --like names, or
of "any other flower", and with those given here; change them later with "crops
set". Kinds of one genus that differ in their number of chromosomes are two crops:
copy the crop, with sets=4.` + cli.ExitStatuses(""),
		Example: `  hueward crops add sweet-william ripe=30-40 self=self-fertile
  hueward crops add giant-zinnia --like zinnia --title "zinnia of four sets" sets=4`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			values, err := cropValues(args[1:])
			if err != nil {
				return err
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error {
				for _, v := range values {
					if v.Value == "" {
						return cli.Usagef("%s=usual: a new crop takes the usual values by itself; leave it out", v.Field)
					}
				}
				if err := garden.AddCrop(cmd.Context(), b, args[0], title, like, values); err != nil {
					return cli.Usagef("%w", err)
				}
				return a.crop(cmd.Context(), b, args[0], &terminal.Output{})
			})
		}),
	}
	cmd.Flags().StringVar(&title, "title", "", "its `NAME` in full (default: as CROP)")
	cmd.Flags().StringVar(&like, "like", "", "the `CROP` whose values it takes")
	return cmd
}

// cropValues reads FIELD=VALUE; "usual" is an empty value.
func cropValues(args []string) ([]book.CropValue, error) {
	var values []book.CropValue
	for _, arg := range args {
		field, value, ok := strings.Cut(arg, "=")
		if !ok {
			return nil, cli.Usagef("%q: want FIELD=VALUE, such as ripe=24-30", arg)
		}
		if value = strings.TrimSpace(value); strings.EqualFold(value, "usual") {
			value = ""
		}
		values = append(values, book.CropValue{Field: strings.ToLower(strings.TrimSpace(field)), Value: value})
	}
	return values, nil
}

func (a *app) cropsRemoveCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "remove CROP",
		Short: "Take a crop of your own out",
		Long: `Take a crop that you added out of the book. This is refused while a line is of that
crop.` + cli.ExitStatuses(""),
		Example: `  hueward crops remove zinnia-4x`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			key := calendar.CropKey(args[0])
			if _, builtIn := calendar.Named(key); builtIn {
				return cli.Usagef("crop %s is built in and stays; hueward crops set %s FIELD=usual takes your values away", key, key)
			}
			return a.Tell(b.RemoveCrop(ctx, key), "%s taken out\n", key)
		}),
	}
}

func (a *app) cropsFrostCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "frost [DAY]",
		Short: "Say when your last frost usually is",
		Long: `Say when the last frost of spring usually is where you garden: a month and day such
as 05-15, or none. "hueward today" then reminds you to sow and to plant out, by the
crop's usual weeks. Without a day, it shows the one that is set. In some years frost
comes later than usual: keep covers at hand.` + cli.ExitStatuses(""),
		Example: `  hueward crops frost 05-15`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			var frost time.Time
			var err error
			switch {
			case len(args) == 0:
				if frost, err = b.LastFrost(ctx); err != nil {
					return fmt.Errorf("%w; say it: hueward crops frost 05-15", err)
				}
			case cli.Not(args[0]) == "":
				return b.SetLastFrost(ctx, nil)
			default:
				s := strings.TrimSpace(args[0])
				if frost, err = time.Parse("01-02", s); err != nil {
					frost, err = time.Parse(time.DateOnly, s)
				}
				if err != nil {
					return cli.Usagef("%q: want a month and day such as 05-15, or none", args[0])
				}
				err = b.SetLastFrost(ctx, &frost)
			}
			return a.Tell(err, "last frost: about %s\n", frost.Format("2 January"))
		}),
	}
}
