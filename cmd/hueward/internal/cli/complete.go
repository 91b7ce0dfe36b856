package cli

import (
	"slices"

	"hueward/report/words"
	"hueward/selection/book"

	"github.com/spf13/cobra"
)

// CompleteLine offers the book's lines for a command's only argument.
func (a *App) CompleteLine(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.complete(cmd, func(b *book.Book) ([]string, error) {
		lines, err := b.Lines(cmd.Context())
		return words.Each(lines, func(l book.Line) string { return l.Name }), err
	})
}

// CompletePlants offers the book's plants that are not on the command line yet.
func (a *App) CompletePlants(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	return a.complete(cmd, func(b *book.Book) ([]string, error) {
		plants, err := b.Plants(cmd.Context(), book.PlantFilter{})
		ids := words.Each(plants, func(p book.Plant) string { return p.ID })
		return slices.DeleteFunc(ids, func(id string) bool { return slices.Contains(args, id) }), err
	})
}

// complete offers names of the book that is meant; none where there is no book.
func (a *App) complete(cmd *cobra.Command, names func(b *book.Book) ([]string, error)) ([]string, cobra.ShellCompDirective) {
	b, err := a.OpenBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer b.Close()
	found, err := names(b)
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	return found, cobra.ShellCompDirectiveNoFileComp
}
