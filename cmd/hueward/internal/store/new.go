// Package store is the commands that keep the book: new, import, export, backup, check, undo, history.
package store

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.newCommand(), a.importCommand(), a.exportCommand(), a.backupCommand(), a.checkCommand(),
		a.undoCommand(), a.redoCommand(), a.historyCommand()}
}

func (a *app) newCommand() *cobra.Command {
	var line, season string
	cmd := &cobra.Command{
		Use:   "new DIR",
		Short: "Start a breeding book",
		Long: `Start a breeding book in a new or empty folder: a database, and copies of the
photos.` + cli.ExitStatuses(""),
		Example: `  hueward new marigolds --line "buff apricot"`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			return a.newBook(cmd.Context(), args[0], line, season)
		}),
	}
	f := a.Flags(cmd)
	f.StringVar(&line, "line", "", "the `NAME` of the first line")
	f.StringVar(&season, "season", "", "the first season (default: this year)")
	f.Check(func([]string) error {
		for _, name := range []string{"line", "season"} {
			if s, _ := f.GetString(name); f.Changed(name) && strings.TrimSpace(s) == "" {
				return cli.Usagef("--%s %q: want a name", name, s)
			}
		}
		return nil
	})
	return cmd
}

func (a *app) newBook(ctx context.Context, dir, line, season string) error {
	if _, err := book.Outside(dir); err != nil {
		return err
	}
	b, err := book.Create(ctx, dir, &book.Options{Now: a.Now, Who: a.Who(), First: func(b *book.Book) (err error) {
		if season, err = garden.SeasonNow(ctx, b, season, a.Now()); err != nil {
			return err
		}
		if err := b.EnsureSeason(ctx, season); err != nil || line == "" {
			return err
		}
		return b.AddLine(ctx, line, "")
	}})
	if err != nil {
		return err
	}
	defer b.Close()
	next := "LINE"
	if line != "" {
		next = garden.LineNames([]book.Line{{Name: line}})
	}
	return a.Tell(nil, "%s: a new book, season %s\nNext, in that folder: hueward target %s --lab L,a,b\n", dir, season, next)
}
