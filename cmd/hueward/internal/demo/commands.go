// Package demo is the made-up garden: the whole job, shown.
//
// It is made from a seed; no real garden is meant. "buff apricot" is three seasons of pot
// marigolds: founders of an orange and of a cream lot, their F1, and the F2, on its way to a
// shade between them; many genes of small effect, about one plant in three with a dark eye, and
// a few of the orange lot each year as a check. "old cosmos" is held
// true, one plant of it an off-type. Three photos are spoilt, as in every season: one has no card, one
// was taken at dusk by a shaking hand, and the card of one lies in a leaf's shade.
package demo

import (
	"context"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct {
	*cli.App
	serve func(ctx context.Context, dir string) error // serves the book in dir
}

// Commands are the commands of this folder; serve serves the book in a folder as a page.
func Commands(run *cli.App, serve func(ctx context.Context, dir string) error) []*cobra.Command {
	a := &app{run, serve}
	return []*cobra.Command{a.demoCommand()}
}
