package cli

import (
	"slices"

	"hueward/selection/book"

	"github.com/spf13/cobra"
)

// CompleteLine offers the book's lines for a command's only argument.
func (a *App) CompleteLine(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	b, err := a.OpenBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer b.Close()
	lines, err := b.Lines(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, l := range lines {
		names = append(names, l.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// CompletePlants offers the book's plants that are not on the command line yet.
func (a *App) CompletePlants(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	b, err := a.OpenBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer b.Close()
	plants, err := b.Plants(cmd.Context(), book.PlantFilter{})
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var ids []string
	for _, p := range plants {
		if !slices.Contains(args, p.ID) {
			ids = append(ids, p.ID)
		}
	}
	return ids, cobra.ShellCompDirectiveNoFileComp
}
