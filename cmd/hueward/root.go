package main

import (
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/choose"
	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/demo"
	"hueward/cmd/hueward/internal/labels"
	"hueward/cmd/hueward/internal/measure"
	"hueward/cmd/hueward/internal/record"
	"hueward/cmd/hueward/internal/store"
)

// app is a run of the program, for the commands of this folder.
type app struct{ *cli.App }

// root is the whole program as one command.
func root(run *cli.App) *cobra.Command {
	a := &app{run}
	root := &cobra.Command{
		Use:   "hueward",
		Short: "Measure petal colour from photos and rank plants by it",
		Long: `hueward measures petal colour from photos with a grey card in, says how far
each plant is from the shade you want, and ranks the plants to keep as parents.

Without a book, "hueward measure PHOTO" just measures. A book is a folder that
keeps lines, plants, photos and readings; start one with "hueward new DIR". It is
found in the working directory or one above it, or by --book, or by the variable
HUEWARD_BOOK. Photos that are open at one time take 1.5 GiB of memory at most;
HUEWARD_MEMORY sets another limit, such as 800MiB.` + cli.ExitStatuses("some inputs were refused"),
		Example: `  hueward demo garden
  hueward measure photo.jpg`,
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE:          a.Do(func(cmd *cobra.Command, _ []string) error { return a.start(cmd) }),
	}
	root.PersistentFlags().StringVar(&a.BookDir, "book", "", "the book's `DIR` (default: $HUEWARD_BOOK, else found from the working "+
		"directory up)")
	cobra.MousetrapHelpText = "" // start says what to do
	root.CompletionOptions.DisableDefaultCmd = true
	for _, commands := range []func(*cli.App) []*cobra.Command{
		func(run *cli.App) []*cobra.Command { return demo.Commands(run, a.serveDemo) },
		store.Commands, measure.Commands, record.Commands, choose.Commands, labels.Commands,
	} {
		root.AddCommand(commands(run)...)
	}
	root.AddCommand(a.serveCommand(), a.completionCommand(), a.versionCommand())
	root.SetHelpCommand(a.helpCommand())
	cli.PlainFlags(root)
	return root
}
