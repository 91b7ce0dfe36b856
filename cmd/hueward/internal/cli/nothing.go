package cli

import (
	"context"
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/selection/book"
)

// looking are the commands that enter nothing that undo could take back.
var looking = strings.Split("|backup|backup restore|check|completion|crops|cross selfs|demo|export|help|history|lines|new|packet|"+
	"pairs|photos|plan|plants|plants list|plants show|pollen|rank|ratios|redo|report|serve|tags|today|trend|undo|version", "|")

// Enters reports whether a command is one that enters something in the book.
func Enters(cmd *cobra.Command) bool {
	_, name, _ := strings.Cut(cmd.CommandPath(), " ")
	return !slices.Contains(looking, name)
}

// noteNothing notes in the book that is meant that a command which failed has entered
// nothing, so that undo asks before it takes back an older change.
func (a *App) noteNothing(ctx context.Context, cmd *cobra.Command, err error) {
	if err == nil || !Enters(cmd) || a.Changed() {
		return
	}
	var usage *UsageError
	dir := ""
	switch {
	case len(a.books) > 0:
		dir = a.books[len(a.books)-1].Dir()
	case errors.As(err, &usage) || !a.started:
		if dir = a.bookNamed(); dir == "" {
			dir, _ = book.Find(".")
		}
	}
	if dir != "" {
		book.NothingEntered(context.WithoutCancel(ctx), dir)
	}
}
