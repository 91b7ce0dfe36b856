package main

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"
)

func (a *app) undoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "undo",
		Short: "Take back the last change of what you entered",
		Long: `Take back the last change of what was entered in the book: a plant added, a
status, a note, a score, a target, a cross, what was done with a head, an import.
Again takes back the one before it. Photos and what was measured of them are not
touched. Nothing is undone when something entered since rests on it.` + exitStatuses(""),
		Example: `  hueward undo`,
		Args:    cobra.NoArgs,
		RunE: a.do(func(cmd *cobra.Command, _ []string) error {
			b, err := a.openBook(cmd.Context())
			if err != nil {
				return err
			}
			defer b.Close()
			c, err := b.Undo(cmd.Context())
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.stdout, "undone: %s\n", c.What)
			return err
		}),
	}
}

func (a *app) historyCommand() *cobra.Command {
	limit := 20
	var out output
	cmd := &cobra.Command{
		Use:   "history",
		Short: "List who changed what and when",
		Long: `List the changes of what was entered in the book, the newest first: when, who, what,
and whether it was undone since.` + exitStatuses(""),
		Example: `  hueward history
  hueward history --limit 0 --csv`,
		Args: cobra.NoArgs,
		RunE: a.do(func(cmd *cobra.Command, _ []string) error { return a.history(cmd.Context(), limit, &out) }),
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

func (a *app) history(ctx context.Context, limit int, out *output) error {
	if limit < 0 {
		return usagef("--limit %d: want 0 for all, or how many", limit)
	}
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	changes, err := b.History(ctx, limit)
	if err != nil {
		return err
	}
	list := []changeJSON{}
	var rows [][]string
	for _, c := range changes {
		list = append(list, changeJSON{c.At.Format("2006-01-02T15:04:05Z07:00"), c.Who, c.What, c.Undone})
		undone := ""
		if c.Undone {
			undone = "undone"
		}
		when := list[len(list)-1].At
		if out.people() {
			when = c.At.In(a.now().Location()).Format("2006-01-02 15:04")
		} else {
			undone = strconv.FormatBool(c.Undone)
		}
		rows = append(rows, []string{when, c.Who, c.What, undone})
	}
	switch {
	case out.json:
		return writeJSON(a.stdout, list)
	case out.csv:
		return writeCSV(a.stdout, []string{"at", "who", "what", "undone"}, rows)
	case len(rows) == 0:
		_, err := fmt.Fprintln(a.stdout, "Nothing was changed yet.")
		return err
	}
	a.stdout.table([]column{{head: "when"}, {head: "who"}, {head: "what", words: true}, {}}, rows)
	return nil
}
