package labels

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/compose"
	"hueward/report/print"
	"hueward/report/words"
	"hueward/selection/book"
)

// labels prints labels of plants, heads or packets of the book.
func (a *app) labels(ctx context.Context, args []string, o *tagsOptions) error {
	kind := "tags"
	switch {
	case o.heads:
		kind = "heads"
	case o.packets:
		kind = "packets"
	}
	grid, err := compose.LabelGrid(kind, o.grid, o.paper)
	if err != nil {
		return cli.Usagef("%w", err)
	}
	return a.WithBook(ctx, func(b *book.Book) error {
		list, err := compose.LabelsOf(ctx, b, kind, args, o.season, print.LabelOptions{Grid: grid, Skip: o.skip, Created: a.Now()})
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
		return a.write(cmp.Or(o.file, kind+".pdf"), list.Write, words.Count(list.N, "label"))
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

// gridHelp is the table of grids in the help.
func gridHelp() string {
	var b strings.Builder
	for _, g := range print.Grids {
		fmt.Fprintf(&b, "  %-14s  %d labels of %g × %g mm\n", g.Name, g.Columns*g.Rows, g.LabelW, g.LabelH)
	}
	return b.String()
}
