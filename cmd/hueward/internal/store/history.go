package store

import (
	"context"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"

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
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error { return a.history(cmd.Context(), limit, &out) }),
	}
	cmd.Flags().IntVar(&limit, "limit", limit, "at most `N` changes; 0: all")
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
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "Nothing has been changed yet.",
		Columns: []terminal.Column{{Head: "when"}, {Head: "who"}, {Head: "what", Words: true}, {}}})
}
