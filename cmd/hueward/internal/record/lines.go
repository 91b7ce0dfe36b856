package record

import (
	"context"
	"strconv"

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

// lineJSON is one line of "lines --json".
type lineJSON struct {
	Line   string `json:"line"`
	Plants int    `json:"plants"`
	Note   string `json:"note"`
}

func (a *app) lines(ctx context.Context, b *book.Book, out *terminal.Output) error {
	found, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	list := []lineJSON{}
	var table [][]string
	for _, l := range found {
		list = append(list, lineJSON{l.Name, l.Plants, l.Note})
		table = append(table, []string{l.Name, strconv.Itoa(l.Plants), l.Note})
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "No lines.", Columns: []terminal.Column{
		{Head: "line"}, {Head: "plants", Right: true}, {Head: "note", Words: true},
	}})
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
