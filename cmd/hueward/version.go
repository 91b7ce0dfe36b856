package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"hueward/colorimg"
)

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Say which version this is",
		Long:    "Say which version of hueward this is, and which version of its way of measuring." + exitStatuses(""),
		Example: "  hueward version",
		Args:    cobra.NoArgs,
		RunE: a.do(func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(a.stdout, "hueward %s (measuring method %d, %s %s/%s)\n",
				version, colorimg.Method, runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		}),
	}
}
