// Package store is the commands that keep the book: new, import, export, backup, check, undo, history.
package store

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.newCommand(), a.importCommand(), a.exportCommand(), a.backupCommand(), a.checkCommand(),
		a.undoCommand(), a.redoCommand(), a.historyCommand()}
}
