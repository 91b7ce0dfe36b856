package record

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) plantsCloneCommand() *cobra.Command {
	var season string
	var counts [3]int
	var ids []string
	var how book.CloneBy
	by, n := "", 0
	cmd := &cobra.Command{
		Use:   "clone ID",
		Short: "Add tubers, cuttings or divisions of a plant",
		Long: `Add plants with the genes of another: its tubers, cuttings or divisions. Each
has its own photos, scores, heads and notes; all of them pass on the same genes, so
the ranking takes their photos together, as photos of one plant. A cross of two of
them is a selfing. Give their ids with --ids and --by, or let the book make them.

Cuttings of a protected variety may not be made for others without its owner's
leave: check your country's rules.` + cli.ExitStatuses(""),
		Example: `  hueward plants clone M-07 --cuttings 3
  hueward plants clone M-07 --by tuber --ids M-07-t1,M-07-t2 --season 2027`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			of, err := b.One(ctx, args[0])
			if err != nil {
				return err
			}
			if season, err = garden.SeasonOn(ctx, b, season, a.Today(), a.Now()); err != nil {
				return err
			}
			made, root, err := b.AddClones(ctx, of, season, how, n, ids)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Stdout, "%s of %s: %s\n", words.Count(len(made), string(how)), root, strings.Join(made, ", "))
			return err
		}),
	}
	f := a.Flags(cmd)
	f.IntVar(&counts[0], "tubers", 0, "add `N` tubers, with ids that the book makes")
	f.IntVar(&counts[1], "cuttings", 0, "add `N` cuttings")
	f.IntVar(&counts[2], "divisions", 0, "add `N` divisions")
	f.StringVar(&by, "by", "", "with --ids: `HOW`: tuber, cutting or division")
	f.IDs(&ids, "ids", "add plants with these `IDS`")
	f.StringVar(&season, "season", "", "the `SEASON` in which they grow (default: that of the day)")
	f.Check(func([]string) error {
		ways := 0
		how = book.CloneBy(strings.ToLower(strings.TrimSpace(by)))
		for i, c := range counts {
			if c != 0 {
				ways++
				how, n = book.ClonesBy[i], c
			}
		}
		if ways > 1 || ways == 1 && (by != "" || len(ids) > 0) || ways == 0 && (by == "" || len(ids) == 0) {
			return cli.Usagef("say how many: --tubers N, --cuttings N or --divisions N; or --by with --ids")
		}
		return nil
	})
	return cmd
}

func (a *app) plantsPlaceCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "place ID… PLACE",
		Short: "Say where plants stand in the bed",
		Long: `Say where plants stand in the bed, in your words: "bed 3, row 2". Ranges such as
M-03..M-09 may be given. "none" takes it away.` + cli.ExitStatuses(""),
		Example: `  hueward plants place M-03..M-09 "bed 3, row 2"`,
		Args:    cobra.MinimumNArgs(2),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			place := cli.Not(strings.TrimSpace(args[len(args)-1]))
			ids, err := b.Which(ctx, args[:len(args)-1])
			if err != nil {
				return err
			}
			if err := b.SetPlace(ctx, place, ids...); err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Stdout, "%s: %s\n", strings.Join(ids, ", "), cmp.Or(place, "no place"))
			return err
		}),
	}
}
