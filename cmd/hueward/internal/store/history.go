package store

import (
	"context"
	"fmt"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"

	"github.com/spf13/cobra"
)

func (a *app) undoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "undo",
		Short: "Take back the last thing you did",
		Long: `Take back all that the last command changed in the book: photos measured into
it, plants added, a status, a note, a score, a target, a cross, what was done with
a head, an import. Again takes back the one before it; "hueward redo" brings it
back. The files of photos stay in the book's folder. Nothing is undone when
something entered since rests on it.` + cli.ExitStatuses(""),
		Example: `  hueward undo`,
		Args:    cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			c, err := b.Undo(ctx)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Stdout, "undone: %s\n", c.What)
			return err
		}),
	}
}

func (a *app) redoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "redo",
		Short: "Bring back what undo took back",
		Long: `Bring back what the last "hueward undo" took back, until something else is
entered.` + cli.ExitStatuses(""),
		Example: `  hueward undo
  hueward redo`,
		Args: cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			c, err := b.Redo(ctx)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Stdout, "redone: %s\n", c.What)
			return err
		}),
	}
}

func (a *app) historyCommand() *cobra.Command {
	limit := 20
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "history",
		Short: "List who changed what and when",
		Long: `List the changes of what was entered in the book, the newest first: when, who, what,
and whether it was undone since.` + cli.ExitStatuses(""),
		Example: `  hueward history
  hueward history --limit 0 --csv`,
		Args: cobra.NoArgs,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error { return a.history(cmd.Context(), limit, &out) }),
	}
	cmd.Flags().IntVar(&limit, "limit", limit, "at most so many `N`; 0: all")
	out.AddFlags(cmd)
	return cmd
}

// changeJSON is one change of "history --json".
type changeJSON struct {
	At     string `json:"at"`
	Who    string `json:"who"`
	What   string `json:"what"`
	Undone bool   `json:"undone"`
}

func (a *app) history(ctx context.Context, limit int, out *terminal.Output) error {
	if limit < 0 {
		return cli.Usagef("--limit %d: want 0 for all, or how many", limit)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	changes, err := b.History(ctx, limit)
	if err != nil {
		return err
	}
	list := []changeJSON{}
	var table [][]string
	for _, c := range changes {
		list = append(list, changeJSON{c.At.Format("2006-01-02T15:04:05Z07:00"), c.Who, c.What, c.Undone})
		undone := ""
		if c.Undone {
			undone = "undone"
		}
		table = append(table, []string{c.At.In(a.Now().Location()).Format("2006-01-02 15:04"), c.Who, c.What, undone})
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "Nothing was changed yet.",
		Columns: []terminal.Column{{Head: "when"}, {Head: "who"}, {Head: "what", Words: true}, {}}})
}
