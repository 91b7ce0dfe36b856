// Package record is the commands that note the season's work: plants, scores, crosses, stored pollen, heads, packets,
// sowings; and what is due.
package record

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.plantsCommand(), a.linesCommand(), a.scoreCommand(), a.crossCommand(), a.pollenCommand(), a.headCommand(),
		a.packetCommand(), a.sowCommand(), a.todayCommand(), a.cropsCommand()}
}
