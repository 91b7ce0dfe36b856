// Package choose is the commands that decide: the target, the ranking, pairs, plans, trends, ratios, and the report of a season.
package choose

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.targetCommand(), a.rankCommand(), a.pairsCommand(), a.planCommand(), a.trendCommand(), a.ratiosCommand(),
		a.reportCommand()}
}
