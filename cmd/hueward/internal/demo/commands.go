// Package demo is the made-up garden: the whole job, shown.
//
// It is made from a seed; no real garden is meant. "buff apricot" is 24 pot marigolds,
// the F2 of an orange by a cream parent, moved toward a shade between them: many genes of
// small effect, about one plant in three with a dark eye. "old cosmos" is six plants held
// true, one of them an off-type. Three photos are spoilt, as in every season: one has no card, one
// was taken at dusk by a shaking hand, and the card of one lies in a leaf's shade.
package demo

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.demoCommand()}
}
