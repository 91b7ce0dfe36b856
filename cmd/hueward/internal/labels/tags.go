// Package labels is the command that prints tags, labels and photo sheets.
package labels

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/tag"
	"hueward/report/compose"
	"hueward/report/print"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
)

type app struct{ *cli.App }

// Commands are the commands of this folder.
func Commands(run *cli.App) []*cobra.Command {
	a := &app{run}
	return []*cobra.Command{a.tagsCommand()}
}

type tagsOptions struct {
	heads, packets, all bool
	grid, paper, season string
	skip                int
	sheet, file         string
}

func (a *app) tagsCommand() *cobra.Command {
	o := &tagsOptions{}
	cmd := &cobra.Command{
		Use:   "tags [PLANT…]",
		Short: "Make sheets to print: tags, labels, photo sheets",
		Long: `Make sheets to print, as PDF: tags for plants, with --heads labels for bags, with
--packets labels for seed packets, with --photo-sheet sheets to photograph on. Each
has a code and the name in large letters; measure reads a tag's code in the photo.
Ranges such as M-03..M-09 may be given. Plain paper gets lines to cut along; --grid
takes a label sheet, by its measures in millimetres or one of these:

` + gridHelp() + `
Print at 100 %; in the garden use waterproof ink or a sleeve.

A photo sheet has a frame for the grey card, a ring with a millimetre scale for the
bloom, and a code. Print it black on plain white matt paper, lay card and bloom on
it, and photograph it whole from above.
Each plant named gets a page of its own; with none, there is one sheet for any
plant. A cut along the dashed line lets a bloom stay on its stem. An a5 sheet takes
a card of 60 × 40 mm and blooms up to about 90 mm across, an a4 sheet a card of
86 × 54 mm and blooms up to about 140 mm. An earlier sheet of the same name is
replaced; no other file is.` + cli.ExitStatuses("some plants were refused"),
		Example: `  hueward tags M-01..M-03
  hueward tags --heads --grid a4-70x37
  hueward tags --packets --paper letter
  hueward tags --photo-sheet a5
  hueward tags --photo-sheet a4 M-07 M-12 -o sheets.pdf`,
		ValidArgsFunction: a.CompletePlants,
		RunE:              a.Do(func(cmd *cobra.Command, args []string) error { return a.tags(cmd, args, o) }),
	}
	f := a.Flags(cmd)
	f.StringVar(&o.sheet, "photo-sheet", "", "print photo sheets of this `SIZE`: "+strings.Join(tag.SheetNames(), ", "))
	f.Output(&o.file, "output", "o", "write to `FILE.pdf`, or to standard output with - (default: tags.pdf, heads.pdf, "+
		"packets.pdf or photo-sheet-SIZE.pdf)", cli.Sheets)
	f.BoolVar(&o.heads, "heads", false, "labels for bags: of the heads named, or of all open heads of the season")
	f.BoolVar(&o.packets, "packets", false, "labels for seed packets: of those named, or of all of the season")
	f.BoolVar(&o.all, "all", false, "tags of all growing plants of the season")
	f.StringVar(&o.grid, "grid", "", "the label sheet: `GRID` is a name, or COLUMNSxROWS:WxH:LEFT,TOP[:GAP,GAP] in millimetres (default: "+
		"plain paper, with lines to cut)")
	f.StringVar(&o.paper, "paper", "a4", "the `PAPER`: a4 or letter")
	f.IntVar(&o.skip, "skip", 0, "`N` labels of the first sheet are used already")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: the newest that has any)")
	for name, values := range map[string][]string{"grid": print.GridNames(), "paper": {"a4", "letter"}, "photo-sheet": tag.SheetNames()} {
		cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp))
	}
	terminal.Exclusive(cmd, "heads", "packets", "all", "photo-sheet")
	terminal.Exclusive(cmd, "photo-sheet", "grid")
	terminal.Exclusive(cmd, "photo-sheet", "skip")
	return cmd
}

func (a *app) tags(cmd *cobra.Command, args []string, o *tagsOptions) error {
	if !cmd.Flags().Changed("photo-sheet") {
		switch {
		case len(args) == 0 && !o.heads && !o.packets && !o.all:
			return cli.Usagef("say what to print: plants, --all, --heads, --packets, or --photo-sheet SIZE")
		case len(args) > 0 && o.all:
			return cli.Usagef("name plants, or give --all, not both")
		}
		return a.labels(cmd.Context(), args, o)
	}
	o.sheet = strings.ToLower(o.sheet)
	if _, ok := tag.SheetNamed(o.sheet); !ok {
		return cli.Usagef("--photo-sheet %q: want %s", o.sheet, strings.Join(tag.SheetNames(), " or "))
	}
	plants, err := a.sheetPlants(cmd.Context(), args)
	if err != nil {
		return err
	}
	if len(args) > 0 && len(plants) == 0 {
		return cli.ErrNothing
	}
	opt := print.SheetOptions{Sheet: o.sheet, Plants: plants, Created: a.Now()}
	return a.write(cmp.Or(o.file, "photo-sheet-"+o.sheet+".pdf"), func(w io.Writer) error { return print.PhotoSheets(w, opt) }, "")
}

// sheetPlants is what the sheets say of the plants named, each once. What cannot be a plant's name is refused. With a
// book, the plants are written as in it; one that it does not know is printed all the same, with a warning: a grower
// may print before sowing, or may have mistyped.
func (a *app) sheetPlants(ctx context.Context, args []string) ([]print.SheetPlant, error) {
	if len(args) == 0 {
		return nil, nil
	}
	b, err := a.OpenBook(ctx)
	switch {
	case err == nil:
		defer b.Close()
	case !errors.Is(err, book.ErrNoBook) || a.BookNamed():
		return nil, err
	}
	var plants []print.SheetPlant
	if args, err = sheetNames(ctx, b, args); err != nil {
		return nil, err
	}
	for _, arg := range args {
		id, err := naming.CleanID(arg)
		if err != nil {
			a.Refuse("%v", err)
			continue
		}
		p := print.SheetPlant{ID: id}
		if b != nil {
			switch known, err := b.Plant(ctx, id); {
			case err == nil:
				p = print.SheetPlant{ID: known.ID, Note: strings.Trim(known.Line+", "+known.Season, ", ")}
			case errors.Is(err, book.ErrNotFound):
				a.Warn("%s: not in the book, but printed; add it: hueward plants add %s", id, id)
			default:
				return nil, err
			}
		}
		if slices.ContainsFunc(plants, func(q print.SheetPlant) bool { return strings.EqualFold(q.ID, p.ID) }) {
			continue
		}
		if lost := print.Unprintable(p.ID); lost != "" {
			a.Warn("%s: the sheet's font has no %s; the code holds the whole name", p.ID, lost)
		}
		plants = append(plants, p)
	}
	return plants, nil
}

// sheetNames spreads ranges: into those of them that are in the book, else into plants to come.
func sheetNames(ctx context.Context, b *book.Book, args []string) (names []string, err error) {
	for _, arg := range args {
		many, isRange := []string{arg}, strings.Contains(arg, "..")
		if isRange && b != nil {
			if many, err = b.Which(ctx, []string{arg}); err == nil {
				isRange = false
			}
		}
		if isRange {
			if many, err = naming.Spread([]string{arg}); err != nil {
				return nil, cli.Usagef("%w", err)
			}
		}
		names = append(names, many...)
	}
	return names, nil
}

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

// write writes a PDF into the file, and tells it with a word on what is in it; "-" is standard output.
func (a *app) write(file string, write func(io.Writer) error, what string) error {
	if toFile, err := a.Output(file, cli.Sheets, write); err != nil || !toFile {
		return err
	}
	if what != "" {
		file += ": " + what
	}
	return a.Tell(nil, "%s\n", file)
}

// gridHelp is the table of grids in the help.
func gridHelp() string {
	var b strings.Builder
	for _, g := range print.Grids {
		fmt.Fprintf(&b, "  %-14s  %d labels of %g × %g mm\n", g.Name, g.Columns*g.Rows, g.LabelW, g.LabelH)
	}
	return b.String()
}
