package record

import (
	"context"
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

func (a *app) cropsAddCommand() *cobra.Command {
	var title, like string
	cmd := &cobra.Command{
		Use:   "add CROP [FIELD=VALUE…]",
		Short: "Add a crop of your own, or a copy of another",
		Long: `Add a crop of your own. It starts with the values of the crop that --like names, or
of "any other flower", and with those given here; change them later with "crops
set". Kinds of one genus that differ in their number of chromosomes are two crops:
add a copy with sets=4.` + cli.ExitStatuses(""),
		Example: `  hueward crops add sweet-william ripe=30-40 self=self-fertile
  hueward crops add giant-zinnia --like zinnia --title "zinnia of four sets" sets=4`,
		Args: cobra.MinimumNArgs(1),
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
		Args:    cobra.ExactArgs(1),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			key := calendar.CropKey(args[0])
			if _, builtIn := calendar.Named(key); builtIn {
				return cli.Usagef("crop %s is built in and stays; hueward crops set %s FIELD=usual takes your values away", key, key)
			}
			if err := b.RemoveCrop(ctx, key); err != nil {
				return err
			}
			_, err := fmt.Fprintf(a.Stdout, "%s taken out\n", key)
			return err
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
		Args:    cobra.MaximumNArgs(1),
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
				if err := b.SetLastFrost(ctx, &frost); err != nil {
					return err
				}
			}
			_, err = fmt.Fprintf(a.Stdout, "last frost: about %s\n", frost.Format("2 January"))
			return err
		}),
	}
}
