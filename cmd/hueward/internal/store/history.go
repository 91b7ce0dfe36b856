package store

import (
	"context"
	"time"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"

	"github.com/spf13/cobra"
)

func (a *app) historyCommand() *cobra.Command {
	limit := 20
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "history",
		Short: "List who changed what and when",
		Long: `List the changes to the book, the newest first: when, who, what, and whether it was
undone since.` + cli.ExitStatuses(""),
		Example: `  hueward history
  hueward history --limit 0 --csv`,
		Args: cobra.NoArgs,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error {
			if limit < 0 {
				return cli.Usagef("--limit %d: want 0 for all, or how many", limit)
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.history(cmd.Context(), b, limit, &out) })
		}),
	}
	cmd.Flags().IntVar(&limit, "limit", limit, "at most `N` changes; 0: all")
	out.AddFlags(cmd)
	return cmd
}

func (a *app) history(ctx context.Context, b *book.Book, limit int, out *terminal.Output) error {
	changes, err := b.History(ctx, limit)
	if err != nil {
		return err
	}
	l := terminal.Listing{Fields: "at,who,what,undone", None: "Nothing has been changed yet.",
		Columns: []terminal.Column{{Head: "when"}, {Head: "who"}, {Head: "what", Words: true}, {Of: "was undone"}}}
	for _, c := range changes {
		undone := ""
		if c.Undone {
			undone = "undone"
		}
		l.Add(c.At.Format(time.RFC3339), c.Who, c.What, c.Undone).
			Also("when", c.At.In(a.Now().Location()).Format("2006-01-02 15:04"), "was undone", undone)
	}
	return a.Stdout.List(out, l)
}
