package compose

import (
	"context"
	"io"

	"hueward/report/print"
	"hueward/report/words"
	"hueward/selection/book"
)

// labelSizes are the sizes of labels on plain paper, in millimetres, by what they are for.
var labelSizes = map[string][2]float64{"tags": {85, 32}, "heads": {80, 55}, "packets": {95, 65}}

// LabelGrid is the label sheet that was asked for, or plain paper with lines to cut when
// none was; what is "tags", "heads" or "packets".
func LabelGrid(what, grid, paper string) (print.Grid, error) {
	if grid != "" {
		return print.ParseGrid(grid, paper)
	}
	size := labelSizes[what]
	return print.Plain(paper, size[0], size[1])
}

// Labels are labels that can be printed.
type Labels struct {
	N     int
	IDs   []string // of tags: what the plants are called
	Write func(io.Writer) error
}

// LabelsOf returns the labels of the plants, heads or packets named; without names, those of
// the season: see [PlantTags], [HeadLabels] and [PacketLabels].
func LabelsOf(ctx context.Context, b *book.Book, what string, names []string, season string, opt print.LabelOptions) (*Labels, error) {
	switch what {
	case "heads":
		list, err := HeadLabels(ctx, b, names, season)
		return &Labels{N: len(list), Write: func(w io.Writer) error { return print.HeadLabels(w, opt, list) }}, err
	case "packets":
		list, err := PacketLabels(ctx, b, names, season)
		return &Labels{N: len(list), Write: func(w io.Writer) error { return print.PacketLabels(w, opt, list) }}, err
	}
	list, err := PlantTags(ctx, b, names, season, opt.Created)
	return &Labels{N: len(list), IDs: words.Each(list, func(t print.PlantTag) string { return t.ID }),
		Write: func(w io.Writer) error { return print.PlantTags(w, opt, list) }}, err
}
