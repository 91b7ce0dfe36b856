// Package measure is the commands that read photos: measure, camera, photos.
package measure

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.measureCommand(), a.cameraCommand(), a.photosCommand()}
}
