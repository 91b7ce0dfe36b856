package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"

	"github.com/spf13/cobra"
)

func (a *app) undoCommand() *cobra.Command {
	yes := false
	cmd := &cobra.Command{
		Use:   "undo",
		Short: "Take back the last thing you did",
		Long: `Take back all that the last command changed in the book: photos measured into
it, plants added, a status, a note, a score, a target, a cross, what was done with
a head, an import. Run it again to take back the one before; "hueward redo" brings
it back. Before it takes back something older than the last command, or something
that somebody else entered, it asks; --yes says yes. The files of photos stay in the
book's folder. Nothing is undone when something entered since depends on it.` + cli.ExitStatuses(""),
		Example: `  hueward undo
  hueward undo --yes`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.undo(ctx, b, yes) }),
	}
	cmd.Flags().BoolVarP(&yes, "yes", "y", false, "also take back what is older than the last command")
	return cmd
}

func (a *app) undo(ctx context.Context, b *book.Book, yes bool) error {
	c, older, err := b.ToUndo(ctx)
	if err != nil {
		return err
	}
	if older && !yes {
		what := fmt.Sprintf("%s (%s%s)", c.What, c.At.In(a.Now().Location()).Format("2006-01-02 15:04"), by(c.Who))
		why := "the last command left nothing to take back; the change before it is: "
		if c.Who != a.Who() {
			why = "the newest change is somebody else's: "
		}
		if a.Answers == nil {
			return fmt.Errorf("%s%s; take it back with: hueward undo --yes", why, what)
		}
		if yes, err = a.Confirm(why + what + ". Take it back?"); err != nil || !yes {
			return errors.Join(err, errors.New("nothing was taken back"))
		}
	}
	if c, err = b.Undo(ctx, c.ID); err != nil { // what was said, and nothing that came meanwhile
		return err
	}
	return a.Tell(nil, "undone: %s\n", c.What)
}

// by names who made a change; empty: that is not known.
func by(who string) string {
	if who == "" {
		return ""
	}
	return ", " + who
}

func (a *app) redoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "redo",
		Short: "Bring back what undo took back",
		Long: `Bring back what the last "hueward undo" took back. This works until something else
is entered.` + cli.ExitStatuses(""),
		Example: `  hueward undo
  hueward redo`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			c, err := b.Redo(ctx)
			if err != nil {
				return err
			}
			return a.Tell(nil, "redone: %s\n", c.What)
		}),
	}
}

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
	return a.Stdout.List(out, l, err)
}
