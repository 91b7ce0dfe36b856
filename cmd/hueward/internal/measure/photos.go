package measure

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/cie"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/intake"
)

type photosOptions struct {
	plant, season string
	all           bool
	out           terminal.Output
}

func (o *photosOptions) AddFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.plant, "plant", "", "only photos of the plant `ID`, or of a range")
	cmd.Flags().StringVar(&o.season, "season", "", "only photos of `SEASON`")
	cmd.Flags().BoolVar(&o.all, "all", false, "also photos whose plant is known")
	o.out.AddFlags(cmd)
}

func (a *app) photosCommand() *cobra.Command {
	o := &photosOptions{}
	cmd := &cobra.Command{
		Use:   "photos",
		Short: "List the book's photos, and say which plants they show",
		Long: `List the photos whose plant is not known; with --all or --plant, the others too.
Name the plant with "hueward photos assign"; the readings stay, and nothing is
measured again.` + cli.ExitStatuses(""),
		Example: `  hueward photos
  hueward photos --plant M-07`,
		Args: cobra.NoArgs,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.photos(ctx, b, o) }),
	}
	o.AddFlags(cmd)
	cmd.AddCommand(a.photosAssignCommand(), a.photosRemoveCommand())
	return cmd
}

// photoJSON is one photo of "photos --json".
type photoJSON struct {
	Number  int64       `json:"number"`
	File    string      `json:"file"`
	Path    string      `json:"path"`
	Plant   *string     `json:"plant"`
	Season  string      `json:"season"`
	TakenAt *string     `json:"taken_at"`
	SHA256  string      `json:"sha256"`
	Lab     *[3]float64 `json:"lab"`
	Status  string      `json:"status"`
}

func (a *app) photos(ctx context.Context, b *book.Book, o *photosOptions) error {
	plants := []string{""}
	if o.plant != "" {
		var err error
		if plants, err = b.Which(ctx, []string{o.plant}); err != nil {
			return err
		}
	}
	var found []book.Photo
	for _, p := range plants {
		of, err := b.Photos(ctx, o.season, p)
		if err != nil {
			return err
		}
		found = append(found, of...)
	}
	readings, err := b.Readings(ctx, "", o.season)
	if err != nil {
		return err
	}
	newest := map[int64]book.Reading{}
	for _, r := range readings {
		if r.Photo != nil {
			newest[r.Photo.ID] = r
		}
	}
	list := []photoJSON{}
	for _, p := range found {
		if !o.all && o.plant == "" && p.Plant != "" {
			continue
		}
		j := photoJSON{Number: p.ID, File: p.Name, Path: p.Path, Season: p.Season, SHA256: p.SHA256}
		if p.Plant != "" {
			j.Plant = &p.Plant
		}
		if !p.TakenAt.IsZero() {
			t := p.TakenAt.Format("2006-01-02T15:04:05Z07:00")
			j.TakenAt = &t
		}
		if r, ok := newest[p.ID]; ok {
			j.Status = string(r.Measured.Status)
			j.Lab = (*[3]float64)(r.Measured.Lab)
		}
		list = append(list, j)
	}
	l := terminal.Listing{Items: list, Head: []string{"number", "file", "path", "plant", "season", "taken_at", "sha256", "L", "a", "b",
		"status"}, Rows: photoRows(list),
		Table: photoTable(list), None: "Every photo has its plant.", Columns: []terminal.Column{{Swatch: true}, {Head: "number"}, {Head: "photo"},
			{Head: "taken"},
			{Head: "plant"}, {Head: "L* a* b*"}, {Head: "colour", Words: true, Wide: 90}, {Head: "status"}}}
	if o.all || o.plant != "" {
		l.None = "No photos."
	}
	return a.Stdout.List(&o.out, l)
}

func photoRows(list []photoJSON) (rows [][]string) {
	for _, j := range list {
		row := []string{strconv.FormatInt(j.Number, 10), j.File, j.Path, "", j.Season, "", j.SHA256, "", "", "", j.Status}
		if j.Plant != nil {
			row[3] = *j.Plant
		}
		if j.TakenAt != nil {
			row[5] = *j.TakenAt
		}
		if j.Lab != nil {
			for i, v := range j.Lab {
				row[7+i] = words.Fixed(v, 2)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func photoTable(list []photoJSON) (rows [][]string) {
	for _, j := range list {
		row := []string{"", "#" + strconv.FormatInt(j.Number, 10), j.File, "", "", "", "", ""}
		if j.TakenAt != nil {
			row[3] = (*j.TakenAt)[:10] + " " + (*j.TakenAt)[11:16]
		}
		if j.Plant != nil {
			row[4] = *j.Plant
		}
		row[7] = j.Status
		if j.Lab != nil {
			c := cie.Lab{L: j.Lab[0], A: j.Lab[1], B: j.Lab[2]}
			row[0], row[5], row[6] = c.Hex(), fmt.Sprintf("%s %s %s", words.Fixed(c.L, 0), words.Fixed(c.A, 0), words.Fixed(c.B, 0)), cie.Name(c)
		}
		rows = append(rows, row)
	}
	return rows
}

func (a *app) photosAssignCommand() *cobra.Command {
	none := false
	var list, lineName string
	cmd := &cobra.Command{
		Use:   "assign PLANT PHOTO…",
		Short: "Say which plant photos show",
		Long: `Say which plant photos show. If one of them is not in the book, nothing is changed.
A photo is named by its number in "hueward photos", such as #17, or by its file
name. --list takes a table with the columns file and plant. Readings stay;
nothing is measured again. A new plant needs --line when the book has several lines.` + cli.ExitStatuses(""),
		Example: `  hueward photos assign M-07 '#1' '#2'`,
		Args: func(cmd *cobra.Command, args []string) error {
			if none && (list != "" || len(args) < 1) {
				return fmt.Errorf("with --none, name only the photos")
			}
			if list == "" && len(args) < 2 && !none {
				return fmt.Errorf("name a plant and the photos that show it, or a --list")
			}
			if list != "" && len(args) > 0 {
				return fmt.Errorf("give photos by name or a --list, not both")
			}
			return nil
		},
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			if none {
				return a.photosOfNone(ctx, b, args)
			}
			if len(args) > 1 && strings.EqualFold(args[0], "none") { // as elsewhere, the word stands for no plant
				return a.photosOfNone(ctx, b, args[1:])
			}
			return a.photosAssign(ctx, b, args, list, lineName)
		}),
	}
	cmd.Flags().BoolVar(&none, "none", false, "the photos show no plant that is known")
	cmd.Flags().StringVar(&list, "list", "", "a table `FILE.csv` with the columns file and plant")
	cmd.Flags().StringVar(&lineName, "line", "", "the `LINE` of plants that are new")
	return cmd
}

func (a *app) photosAssign(ctx context.Context, b *book.Book, args []string, list, lineName string) error {
	if lineName == "" {
		// One line in the book: new plants are of it.
		lines, err := b.Lines(ctx)
		if err != nil {
			return err
		}
		if len(lines) != 1 {
			lines = nil
		}
		for _, n := range lines {
			lineName = n.Name
		}
	}
	type pair struct{ photo, plant, where string }
	var pairs []pair
	if list != "" {
		rows, err := readList(list)
		if err != nil {
			return err
		}
		for _, r := range rows {
			pairs = append(pairs, pair{r.File, r.Plant, fmt.Sprintf("%s: line %d: ", list, r.Line)})
		}
	} else {
		for _, photo := range args[1:] {
			pairs = append(pairs, pair{photo, args[0], ""})
		}
	}
	var to []book.Assignee
	var added []string
	for _, p := range pairs {
		isNew, err := b.New(ctx, p.plant)
		if err != nil {
			return fmt.Errorf("%s%w", p.where, err)
		}
		if id := strings.TrimSpace(p.plant); isNew && !slices.ContainsFunc(added, func(s string) bool { return strings.EqualFold(s, id) }) {
			added = append(added, id)
		}
		found, err := b.FindPhoto(ctx, p.photo)
		if err != nil {
			return fmt.Errorf("%s%w", p.where, err)
		}
		to = append(to, book.Assignee{Photo: found.ID, Plant: p.plant})
	}
	n, err := b.AssignPhotos(ctx, lineName, to...)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.Stdout, "%s given their plants", words.Count(n, "photo"))
	if n < len(to) {
		fmt.Fprintf(a.Stdout, "; %d had them already", len(to)-n)
	}
	fmt.Fprintln(a.Stdout, ".")
	told, err := intake.NewPlants(ctx, b, added)
	if told != "" {
		a.Stdout.Say("", told)
	}
	return err
}
