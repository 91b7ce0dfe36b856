package labels

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/compose"
	"hueward/report/print"
	"hueward/report/words"
	"hueward/selection/book"
)

// labelOptions say which labels are printed, and on what.
type labelOptions struct {
	heads, packets, all bool
	grid, paper, season string
	skip                int
}

func (o *labelOptions) AddFlags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.BoolVar(&o.heads, "heads", false, "labels for bags: of the heads named, or of all open heads of the season")
	f.BoolVar(&o.packets, "packets", false, "labels for seed packets: of those named, or of all of the season")
	f.BoolVar(&o.all, "all", false, "tags of all growing plants of the season")
	f.StringVar(&o.grid, "grid", "", "the label sheet: `GRID` is a name, or COLUMNSxROWS:WxH:LEFT,TOP[:GAP,GAP] in millimetres (default: "+
		"plain paper, with lines to cut)")
	f.StringVar(&o.paper, "paper", "a4", "the `PAPER`: a4 or letter")
	f.IntVar(&o.skip, "skip", 0, "`N` labels of the first sheet are used already")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: the newest that has any)")
	cmd.RegisterFlagCompletionFunc("grid", cobra.FixedCompletions(print.GridNames(), cobra.ShellCompDirectiveNoFileComp))
	cmd.RegisterFlagCompletionFunc("paper", cobra.FixedCompletions([]string{"a4", "letter"}, cobra.ShellCompDirectiveNoFileComp))
	terminal.Exclusive(cmd, "heads", "packets", "all", "photo-sheet")
	terminal.Exclusive(cmd, "photo-sheet", "grid")
	terminal.Exclusive(cmd, "photo-sheet", "skip")
}

// labels prints labels of plants, heads or packets of the book.
func (a *app) labels(ctx context.Context, args []string, o *tagsOptions) error {
	l, kind := &o.labels, "tags"
	switch {
	case l.heads:
		kind = "heads"
	case l.packets:
		kind = "packets"
	}
	grid, err := compose.LabelGrid(kind, l.grid, l.paper)
	if err != nil {
		return cli.Usagef("%w", err)
	}
	return a.WithBook(ctx, func(b *book.Book) error {
		list, err := compose.LabelsOf(ctx, b, kind, args, l.season, print.LabelOptions{Grid: grid, Skip: l.skip, Created: a.Now()})
		if err != nil {
			return err
		}
		for _, id := range list.IDs {
			if lost := print.Unprintable(id); lost != "" {
				a.Warn("%s: the tag's font has no %s; the code holds the whole name", id, lost)
			}
		}
		if list.N == 0 {
			return errors.New("there is nothing to print; name what to print, or another --season")
		}
		if o.file == "" {
			o.file = kind + ".pdf"
		}
		return a.write(o.file, list.Write, words.Count(list.N, "label"))
	})
}

// write writes a PDF into the file, and tells it with a word on what is in it; "-" is
// standard output.
func (a *app) write(file string, write func(io.Writer) error, what string) error {
	if toFile, err := a.Output(file, cli.Sheets, write); err != nil || !toFile {
		return err
	}
	if what != "" {
		file += ": " + what
	}
	_, err := fmt.Fprintln(a.Stdout, file)
	return err
}

var errNoKind = errors.New("say what to print: plants, --all, --heads, --packets, or --photo-sheet SIZE")

// gridHelp is the table of grids in the help.
func gridHelp() string {
	var b strings.Builder
	for _, g := range print.Grids {
		fmt.Fprintf(&b, "  %-14s  %d labels of %g × %g mm\n", g.Name, g.Columns*g.Rows, g.LabelW, g.LabelH)
	}
	return b.String()
}
