package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
)

// version is that of the program, as "hueward version" and the report say it.
const version = "0.1.0"

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Say which version this is",
		Long:    "Say which version of hueward this is, and which version of its way of measuring." + cli.ExitStatuses(""),
		Example: "  hueward version",
		Args:    cobra.NoArgs,
		RunE: a.Do(func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(a.Stdout, "hueward %s (measuring method %d, %s %s/%s)\n",
				version, colorimg.Method, runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		}),
	}
}
