package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/colorimg"
	"hueward/report/print"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/genetics"
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
	exclusive(cmd, "heads", "packets", "all", "photo-sheet")
	exclusive(cmd, "photo-sheet", "grid")
	exclusive(cmd, "photo-sheet", "skip")
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
		return usagef("%w", err)
	}
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	opt := print.LabelOptions{Grid: grid, Skip: l.skip, Created: a.now()}
	var write func(io.Writer) error
	var n int
	switch {
	case l.heads:
		list, err := headLabels(ctx, b, args, l.season)
		if err != nil {
			return err
		}
		n, write = len(list), func(w io.Writer) error { return print.HeadLabels(w, opt, list) }
	case l.packets:
		list, err := packetLabels(ctx, b, args, l.season)
		if err != nil {
			return err
		}
		n, write = len(list), func(w io.Writer) error { return print.PacketLabels(w, opt, list) }
	default:
		list, err := a.plantTags(ctx, b, args, l)
		if err != nil {
			return err
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
		return write(a.stdout)
	}
	if err := writeFile(o.file, write); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stdout, "%s: %s\n", o.file, some(n, "label"))
	return err
}

func (a *app) plantTags(ctx context.Context, b *book.Book, args []string, l *labelOptions) ([]print.PlantTag, error) {
	f := book.PlantFilter{Season: l.season}
	if l.season == "" && len(args) == 0 {
		var err error
		if f.Season, err = garden.SeasonNow(ctx, b, "", a.now()); err != nil {
			return nil, err
		}
	}
	if len(args) > 0 {
		names, err := b.Which(ctx, args)
		if err != nil {
			return nil, err
		}
		f = book.PlantFilter{IDs: names}
	}
	plants, err := b.Plants(ctx, f)
	if err != nil {
		return nil, err
	}
	gen, err := generations(ctx, b)
	if err != nil {
		return nil, err
	}
	var tags []print.PlantTag
	for _, p := range plants {
		if len(args) == 0 && p.Status != book.Growing && p.Status != book.Kept && p.Status != book.Reserve {
			continue
		}
		t := print.PlantTag{ID: p.ID, Line: p.Line, Parents: parentWords(p), Season: p.Season}
		if g := gen[p.ID]; g != genetics.Founder {
			t.Generation = g
		}
		if lost := print.Unprintable(p.ID); lost != "" {
			a.warn("%s: the tag's letters lack %s; the code holds the whole name", p.ID, lost)
		}
		tags = append(tags, t)
	}
	return tags, nil
}

func headLabels(ctx context.Context, b *book.Book, args []string, season string) ([]print.HeadLabel, error) {
	if len(args) > 0 {
		season = ""
	}
	heads, err := b.Heads(ctx, season)
	if err != nil {
		return nil, err
	}
	crosses, err := crossesByName(ctx, b)
	if err != nil {
		return nil, err
	}
	crops, _, err := garden.Crops(ctx, b)
	if err != nil {
		return nil, err
	}
	of, err := b.LineCrops(ctx)
	if err != nil {
		return nil, err
	}
	names, err := b.HeadNames(ctx, args)
	if err != nil {
		return nil, err
	}
	if len(args) > 0 {
		heads = slices.DeleteFunc(heads, func(h book.Head) bool { return !slices.Contains(names, h.Name) })
	} else {
		heads = slices.DeleteFunc(heads, func(h book.Head) bool { return !h.Lost.IsZero() || !h.Harvested.IsZero() })
		heads = newest(heads, func(h book.Head) string { return h.Season })
	}
	var list []print.HeadLabel
	for _, h := range heads {
		l := print.HeadLabel{Name: h.Name, Cross: h.Cross, Line: h.Line, Days: crops[of[h.Line]].Days}
		if c, ok := crosses[h.Cross]; ok {
			l.Parents = c.Words()
		}
		list = append(list, l)
	}
	return list, nil
}

// newest are those of the newest season among them.
func newest[T any](list []T, season func(T) string) []T {
	last := ""
	for _, v := range list {
		if s := season(v); last == "" || selection.CompareIDs(s, last) > 0 {
			last = s
		}
	}
	return slices.DeleteFunc(list, func(v T) bool { return season(v) != last })
}

func crossesByName(ctx context.Context, b *book.Book) (map[string]book.Cross, error) {
	list, err := b.Crosses(ctx, "")
	out := map[string]book.Cross{}
	for _, c := range list {
		out[c.Name] = c
	}
	return out, err
}

// packetCaution is printed on every packet, and boughtCaution on bought seed: the
// usual warnings of the trade; local rules come first.
const (
	packetCaution = "Not food. Keep from children and animals, dry and cool."
	boughtCaution = "Not food. A protected variety may not be sold or shared without its owner's leave."
)

func packetLabels(ctx context.Context, b *book.Book, args []string, season string) ([]print.PacketLabel, error) {
	if len(args) > 0 {
		season = ""
	}
	packets, err := b.Packets(ctx, season)
	if err != nil {
		return nil, err
	}
	names, err := b.PacketNames(ctx, args)
	if err != nil {
		return nil, err
	}
	if len(args) > 0 {
		packets = slices.DeleteFunc(packets, func(p book.Packet) bool { return !slices.Contains(names, p.Name) })
	} else {
		packets = newest(packets, func(p book.Packet) string { return p.Season })
	}
	crosses, err := crossesByName(ctx, b)
	if err != nil {
		return nil, err
	}
	pedigree, err := b.Pedigree(ctx)
	if err != nil {
		return nil, err
	}
	var parents []string
	for _, p := range packets {
		if c, ok := crosses[p.Cross]; ok {
			parents = append(parents, c.SeedParent, c.PollenParent)
			// The generation of a plant that would come of it.
			pedigree = append(pedigree, genetics.Parents{ID: "seed of " + p.Name, Seed: c.SeedParent, Pollen: c.PollenParent})
		}
	}
	gen := genetics.Generations(pedigree)
	colors, err := colorsOf(ctx, b, parents)
	if err != nil {
		return nil, err
	}
	var list []print.PacketLabel
	for _, p := range packets {
		l := print.PacketLabel{Name: p.Name, Line: p.Line, Season: p.Season, Of: p.FounderGroup, Generation: gen["seed of "+p.Name],
			Date: dayWord(p.Made), Place: p.Place, Caution: packetCaution}
		if p.FounderGroup != "" {
			l.Caution = boughtCaution
		}
		if p.Seeds != nil {
			l.Seeds = some(*p.Seeds, "seed")
		}
		if c, ok := crosses[p.Cross]; ok {
			l.Of = c.Words()
			for i, id := range []string{c.SeedParent, c.PollenParent} {
				if id == "" || i == 1 && id == c.SeedParent {
					continue
				}
				parent := print.Parent{ID: id}
				if m := colors[id]; m != nil {
					parent.Color, parent.Hex, parent.Lab = m.Name, m.Hex, *m.Lab
				}
				l.Parents = append(l.Parents, parent)
			}
		}
		list = append(list, l)
	}
	return list, nil
}

// colorsOf are the surest readings of the plants, by id.
func colorsOf(ctx context.Context, b *book.Book, plants []string) (map[string]*colorimg.Reading, error) {
	readings, err := b.ReadingsOf(ctx, plants...)
	if err != nil {
		return nil, err
	}
	out := map[string]*colorimg.Reading{}
	for i := range readings {
		m := &readings[i].Measured
		if m.Lab == nil || m.Hex == "" {
			continue
		}
		if was := out[readings[i].Plant]; was == nil || m.SE.Precision < was.SE.Precision {
			out[readings[i].Plant] = m
		}
	}
	return out, nil
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
