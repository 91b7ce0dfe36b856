package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) packetOutCommand() *cobra.Command {
	var o book.SeedOut
	var given, sold, lost bool
	cmd := &cobra.Command{
		Use:   "out PACKET",
		Short: "Note seed that was given away, sold or lost",
		Long: `Note that seed left a packet otherwise than by sowing or a test: given away, sold,
or lost to mice, mould or a spill. It counts as taken from the packet.

Seed of a protected variety may not be sold or shared without its owner's leave, and
many countries have rules for selling any seed: check yours.` + cli.ExitStatuses(""),
		Example: `  hueward packet out P26-001 --given --seeds 20 --to "Anna"
  hueward packet out P26-001 --sold --seeds 10`,
		Args: cobra.ExactArgs(1),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if o.Grams > 0 {
				p, err := b.PacketNamed(ctx, args[0])
				if err != nil {
					return err
				}
				if o.Seeds, err = garden.SeedsIn(ctx, b, o.Grams, p.Line, p); err != nil {
					return err
				}
			}
			p, over, err := b.TakeOut(ctx, args[0], o)
			if err != nil {
				return err
			}
			a.warnOver(p, over)
			a.warnEarly(p, o.On)
			left := ""
			if p.Seeds != nil {
				left = fmt.Sprintf(", %d left", max(0, *p.Seeds-p.Sown))
			}
			_, err = fmt.Fprintf(a.Stdout, "%s  %s %s%s\n", p.Name, words.Count(o.Seeds, "seed"), o.How, left)
			return err
		}),
	}
	f := a.Flags(cmd)
	f.BoolVar(&given, "given", false, "it was given away")
	f.BoolVar(&sold, "sold", false, "it was sold")
	f.BoolVar(&lost, "lost", false, "it was lost: eaten, mouldy, spilt")
	f.IntVar(&o.Seeds, "seeds", 0, "`N` seeds")
	f.Float64Var(&o.Grams, "grams", 0, "`G` grams of it; the number of seeds follows from the packet's weight, or from the crop")
	f.StringVar(&o.To, "to", "", "to `WHOM`")
	f.Day(&o.On, "on", "")
	f.StringVar(&o.Note, "note", "", "a note on it")
	f.Check(func([]string) error {
		for way, how := range map[*bool]book.Out{&given: book.OutGiven, &sold: book.OutSold, &lost: book.OutLost} {
			if *way {
				o.How = how
			}
		}
		switch {
		case o.How == "": // more than one is refused as flags that do not go together
			return cli.Usagef("say how it left: one of --given, --sold and --lost")
		case f.Changed("seeds") == f.Changed("grams"):
			return cli.Usagef("say how much: --seeds N, or --grams G")
		}
		return nil
	})
	terminal.Exclusive(cmd, "given", "sold", "lost")
	return cmd
}

func (a *app) sowOutCommand() *cobra.Command {
	var day time.Time
	cmd := &cobra.Command{
		Use:   "out SOWING…",
		Short: "Note that the plants of sowings were planted out",
		Long: `Note that the plants of sowings were planted out, or that they were sown where they
flower. "none" as the day takes it away.` + cli.ExitStatuses(""),
		Example: `  hueward sow out S27-001`,
		Args:    cobra.MinimumNArgs(1),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if err := b.PlantOut(ctx, day, args...); err != nil {
				return err
			}
			what := "planted out " + words.Day(day)
			if day.IsZero() {
				what = "not planted out"
			}
			_, err := fmt.Fprintf(a.Stdout, "%s: %s\n", strings.Join(args, ", "), what)
			return err
		}),
	}
	on := cmd.Flags().String("on", "", "the `DAY`: "+cli.DayForms+", or none (default: today)")
	a.Flags(cmd).Check(func([]string) (err error) {
		if !strings.EqualFold(strings.TrimSpace(*on), "none") {
			day, err = a.Day("on", *on)
		}
		return err
	})
	return cmd
}
