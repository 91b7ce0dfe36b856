package store

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type newOptions struct {
	line, season string
}

func (o *newOptions) AddFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.line, "line", "", "the `NAME` of the first line")
	cmd.Flags().StringVar(&o.season, "season", "", "the first season (default: this year)")
}

func (a *app) newCommand() *cobra.Command {
	o := &newOptions{}
	cmd := &cobra.Command{
		Use:   "new DIR",
		Short: "Start a breeding book",
		Long: `Start a breeding book in a new or empty folder: a database, and copies of the
photos.` + cli.ExitStatuses(""),
		Example: `  hueward new marigolds --line "buff apricot"`,
		Args:    cobra.ExactArgs(1),
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			return a.newBook(cmd, args[0], o)
		}),
	}
	o.AddFlags(cmd)
	return cmd
}

func (a *app) newBook(cmd *cobra.Command, dir string, o *newOptions) error {
	ctx := cmd.Context()
	for _, name := range []string{"line", "season"} {
		f := cmd.Flags().Lookup(name)
		if f.Changed && strings.TrimSpace(f.Value.String()) == "" {
			return cli.Usagef("--%s %q: want a name", name, f.Value.String())
		}
	}
	if _, err := book.Outside(dir); err != nil {
		return err
	}
	var season string
	b, err := book.Create(ctx, dir, &book.Options{Now: a.Now, Who: a.Who(), First: func(b *book.Book) (err error) {
		if season, err = garden.SeasonNow(ctx, b, o.season, a.Now()); err != nil {
			return err
		}
		if err := b.EnsureSeason(ctx, season); err != nil || o.line == "" {
			return err
		}
		return b.AddLine(ctx, o.line, "")
	}})
	if err != nil {
		return err
	}
	defer b.Close()
	fmt.Fprintf(a.Stdout, "%s: a new book, season %s\n", dir, season)
	switch line := o.line; {
	case line == "":
		fmt.Fprintf(a.Stdout, "Next, in that folder: hueward target LINE --lab L,a,b\n")
	default:
		fmt.Fprintf(a.Stdout, "Next, in that folder: hueward target %s --lab L,a,b\n", garden.LineNames([]book.Line{{Name: line}}))
	}
	return nil
}
