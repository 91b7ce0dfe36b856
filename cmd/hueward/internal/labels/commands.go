// Package labels is the command that prints tags, labels and photo sheets.
package labels

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.tagsCommand()}
}
