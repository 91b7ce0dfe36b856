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
	f.StringVar(&o.grid, "grid", "", "the label sheet: `GRID` is a name, or COLUMNSxROWS:WxH:LEFT,TOP[:GAP,GAP] in millimetres (default: plain paper, with lines to cut)")
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
	l := &o.labels
	kind, w, h := "tags", 85.0, 32.0
	switch {
	case l.heads:
		kind, w, h = "heads", 80, 55
	case l.packets:
		kind, w, h = "packets", 95, 65
	}
	var grid print.Grid
	var err error
	if l.grid != "" {
		grid, err = print.ParseGrid(l.grid, l.paper)
	} else {
		grid, err = print.Plain(l.paper, w, h)
	}
	if err != nil {
		return cli.Usagef("%w", err)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	opt := print.LabelOptions{Grid: grid, Skip: l.skip, Created: a.Now()}
	var write func(io.Writer) error
	var n int
	switch {
	case l.heads:
		list, err := compose.HeadLabels(ctx, b, args, l.season)
		if err != nil {
			return err
		}
		n, write = len(list), func(w io.Writer) error { return print.HeadLabels(w, opt, list) }
	case l.packets:
		list, err := compose.PacketLabels(ctx, b, args, l.season)
		if err != nil {
			return err
		}
		n, write = len(list), func(w io.Writer) error { return print.PacketLabels(w, opt, list) }
	default:
		list, err := compose.PlantTags(ctx, b, args, l.season, a.Now())
		if err != nil {
			return err
		}
		for _, t := range list {
			if lost := print.Unprintable(t.ID); lost != "" {
				a.Warn("%s: the tag's letters lack %s; the code holds the whole name", t.ID, lost)
			}
		}
		n, write = len(list), func(w io.Writer) error { return print.PlantTags(w, opt, list) }
	}
	if n == 0 {
		return errors.New("there is nothing to print; name what to print, or another --season")
	}
	if o.file == "" {
		o.file = kind + ".pdf"
	}
	if o.file == "-" {
		return write(a.Stdout)
	}
	if err := cli.WriteFile(o.file, write); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.Stdout, "%s: %s\n", o.file, words.Count(n, "label"))
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
