package record

import (
	"context"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/mending"
	"hueward/selection/book"
)

func (a *app) linesCommand() *cobra.Command {
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "lines",
		Short: "List the book's lines, or rename one",
		Long: `List the lines of the book, and how many plants each has. "hueward lines rename"
gives a line another name, "hueward plants move" moves plants to another line,
"hueward target" says what a line is bred for.` + cli.ExitStatuses(""),
		Example: `  hueward lines`,
		Args:    cobra.NoArgs,
		RunE:    a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.lines(ctx, b, &out) }),
	}
	out.AddFlags(cmd)
	cmd.AddCommand(a.linesRenameCommand())
	return cmd
}

func (a *app) lines(ctx context.Context, b *book.Book, out *terminal.Output) error {
	found, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	l := terminal.Listing{Fields: "line,plants,note", None: "No lines.", Columns: []terminal.Column{{Head: "line"},
		{Head: "plants", Right: true}, {Head: "note", Words: true}}}
	for _, n := range found {
		l.Add(n.Name, n.Plants, n.Note)
	}
	return a.Stdout.List(out, l)
}

func (a *app) linesRenameCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "rename LINE NEW-NAME",
		Short: "Give a line another name",
		Long: `Give a line another name; its plants, targets, crosses and packets stay with it.` +
			cli.ExitStatuses(""),
		Example:           `  hueward lines rename "buff apricot" apricot`,
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			return a.mended(mending.RenameLine(ctx, b, args[0], args[1]))
		}),
	}
}
