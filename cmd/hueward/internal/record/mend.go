package record

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/mending"
	"hueward/selection/book"
)

func (a *app) plantsRenameCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "rename ID NEW-ID",
		Short: "Give a plant another id",
		Long: `Give a plant another id; all that the book has of it stays with it. Its heads keep
their names, as on their tags.` + cli.ExitStatuses(""),
		Example:           `  hueward plants rename M-03 M-30`,
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
	cmd := a.removeCommand("plants", "plant", "M-03")
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

// spread are the names that a removal means: ranges stand for those of them that are in the book.
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

// removeCommand takes out what was entered by mistake; use is the command that it belongs to.
func (a *app) removeCommand(use, kind, example string) *cobra.Command {
	return &cobra.Command{
		Use:   "remove NAME…",
		Short: "Take out what was entered by mistake",
		Long: `Take out something that was entered by mistake. This is refused where something else
in the book depends on it. "hueward undo" brings it back.` + cli.ExitStatuses("some were refused"),
		Example: "  hueward " + use + " remove " + example,
		RunE:    a.InBook(func(ctx context.Context, b *book.Book, args []string) error { return a.remove(ctx, b, kind, args) }),
	}
}

func (a *app) remove(ctx context.Context, b *book.Book, kind string, names []string) error {
	names, err := spread(ctx, b, kind, names)
	if err != nil {
		return err
	}
	var gone []string
	var refused []error
	err = b.Together(ctx, func(b *book.Book) error {
		for _, n := range names {
			full, err := b.Remove(ctx, kind, n)
			switch {
			case err == nil:
				gone = append(gone, full)
			case len(names) == 1:
				return err
			default:
				refused = append(refused, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, err := range refused {
		a.Refuse("%s", hints.Line(err))
	}
	for _, full := range gone {
		fmt.Fprintf(a.Stdout, "%s taken out\n", full)
	}
	if a.Refused == len(names) {
		return cli.ErrNothing
	}
	return nil
}

func (a *app) linesCommand() *cobra.Command {
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "lines",
		Short: "List the book's lines, or rename one",
		Long: `List the lines of the book, and how many plants each has. "hueward lines rename"
gives a line another name, "hueward plants move" moves plants to another line,
"hueward target" says what a line is bred for.` + cli.ExitStatuses(""),
		Example: `  hueward lines`,
		RunE:    a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.lines(ctx, b, &out) }),
	}
	out.AddFlags(cmd)
	cmd.AddCommand(a.linesRenameCommand())
	return cmd
}

func (a *app) lines(ctx context.Context, b *book.Book, out *terminal.Output) error {
	found, err := b.Lines(ctx)
	l := terminal.Listing{Fields: "line,plants,note", None: "No lines.", Columns: []terminal.Column{{Head: "line"},
		{Head: "plants", Right: true}, {Head: "note", Words: true}}}
	for _, n := range found {
		l.Add(n.Name, n.Plants, n.Note)
	}
	return a.Stdout.List(out, l, err)
}

func (a *app) linesRenameCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "rename LINE NEW-NAME",
		Short: "Give a line another name",
		Long: `Give a line another name; its plants, targets, crosses and packets stay with it.` +
			cli.ExitStatuses(""),
		Example:           `  hueward lines rename "buff apricot" apricot`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.mended(mending.RenameLine(ctx, b, args[0], args[1]))
		}),
	}
}
