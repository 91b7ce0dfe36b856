package record

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/mending"
	"hueward/report/words"
	"hueward/selection/book"
)

func (a *app) plantsRenameCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "rename ID NEW-ID",
		Short: "Give a plant another id",
		Long: `Give a plant another id; all that the book has of it stays with it. Its heads keep
their names, as on their tags.` + cli.ExitStatuses(""),
		Example:           `  hueward plants rename M-03 M-30`,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.mended(mending.Rename(ctx, b, args[0], args[1]))
		}),
	}
}

func (a *app) plantsMergeCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "merge ID OTHER-ID",
		Short: "Make one plant of two that are the same",
		Long: `Make one plant of two entries that are the same plant: photos, readings, heads,
crosses, packets, scores, notes and offspring of the first go to the second, and the
first is taken out. Where the two disagree, the second counts, and of scores the
newer one; a message says so. It is refused where one of the two descends from the
other.` + cli.ExitStatuses(""),
		Example:           `  hueward plants merge M-03 M-02`,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.mended(mending.Merge(ctx, b, args[0], args[1]))
		}),
	}
}

func (a *app) plantsMoveCommand() *cobra.Command {
	to := ""
	cmd := &cobra.Command{
		Use:   "move ID… --to LINE",
		Short: "Move plants to another line",
		Long: `Move plants to another line of the book; ranges such as M-03..M-09 may be given. If
one is unknown, none is moved.` + cli.ExitStatuses(""),
		Example:           `  hueward plants move M-01 M-02 --to "buff apricot"`,
		Args:              cobra.MinimumNArgs(1),
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.mended(mending.Move(ctx, b, to, args...))
		}),
	}
	a.Flags(cmd).Check(func([]string) error {
		if strings.TrimSpace(to) == "" {
			return cli.Usagef("say which line: --to LINE")
		}
		return nil
	})
	cmd.Flags().StringVar(&to, "to", "", "the `LINE` that they belong to")
	return cmd
}

// mended prints what was put right.
func (a *app) mended(d *mending.Done, err error) error {
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(a.Stdout, d.Text)
	if len(d.Odd) > 0 {
		a.Warn("the two did not agree; what counts now: %s", strings.Join(d.Odd, "; "))
	}
	return err
}

func (a *app) plantsRemoveCommand() *cobra.Command {
	cmd := a.removeCommand("plant", "M-03")
	cmd.Use = "remove ID…"
	cmd.Short = "Take out plants that were entered by mistake"
	cmd.Long = `Take plants out of the book that were entered by mistake; ranges such as M-03..M-09
may be given. A plant that something else depends on (a photo, a cross, a head, a
score, a plant of its seed) is refused with the reason: give that to another plant
with "hueward plants merge", or take it out first. A plant that died stays in the
book as lost: "hueward plants drop --as lost". "hueward undo" brings back what was
taken out.` + cli.ExitStatuses("some were refused")
	cmd.ValidArgsFunction = a.CompletePlants
	return cmd
}

// spread are the names that a removal means: ranges stand for those of them that are in
// the book.
func spread(ctx context.Context, b *book.Book, kind string, typed []string) (names []string, err error) {
	for _, t := range typed {
		many := []string{t}
		switch {
		case !strings.Contains(t, ".."):
		case kind == "plant":
			many, err = b.Which(ctx, many)
		case kind == "head":
			many, err = b.HeadNames(ctx, many)
		}
		if err != nil {
			return nil, err
		}
		names = append(names, many...)
	}
	return names, nil
}

// crossesOf are the crosses that ranges of parents stand for: each seed parent with each
// pollen parent.
func crossesOf(ctx context.Context, b *book.Book, c book.Cross) ([]book.Cross, error) {
	seeds, err := b.Which(ctx, []string{c.SeedParent})
	if err != nil {
		return nil, fmt.Errorf("seed parent: %w", err)
	}
	pollens := []string{c.PollenParent}
	if c.PollenParent != "" {
		if pollens, err = b.Which(ctx, pollens); err != nil {
			return nil, fmt.Errorf("pollen parent: %w", err)
		}
	}
	if n := len(seeds) * len(pollens); n > mostCrosses {
		return nil, cli.Usagef("that would be %s; note at most %d at once", words.Count(n, "cross"), mostCrosses)
	}
	var out []book.Cross
	for _, s := range seeds {
		for _, p := range pollens {
			one := c
			one.SeedParent, one.PollenParent = s, p
			out = append(out, one)
		}
	}
	return out, nil
}

// mostCrosses is the most that one command notes.
const mostCrosses = 50
