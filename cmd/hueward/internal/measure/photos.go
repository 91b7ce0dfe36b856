package measure

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

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
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.photos(ctx, b, o) }),
	}
	cmd.Flags().StringVar(&o.plant, "plant", "", "only photos of the plant `ID`, or of a range")
	cmd.Flags().StringVar(&o.season, "season", "", "only photos of `SEASON`")
	cmd.Flags().BoolVar(&o.all, "all", false, "also photos whose plant is known")
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.photosAssignCommand(), a.photosRemoveCommand())
	return cmd
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
	newest := map[int64]book.Reading{}
	for _, r := range readings {
		if r.Photo != nil {
			newest[r.Photo.ID] = r
		}
	}
	l := terminal.Listing{Fields: "number,file,path,plant,season,taken_at,sha256,lab,status",
		CSV: "number,file,path,plant,season,taken_at,sha256,L,a,b,status", None: "Every photo has its plant.",
		Columns: []terminal.Column{{Of: "hex", Swatch: true}, {Head: "number", Of: "#"}, {Head: "photo", Of: "file"}, {Head: "taken"},
			{Head: "plant"}, {Head: "L* a* b*"}, {Head: "colour", Words: true, Wide: 90}, {Head: "status"}}}
	if o.all || o.plant != "" {
		l.None = "No photos."
	}
	for _, p := range found {
		if !o.all && o.plant == "" && p.Plant != "" {
			continue
		}
		timed := !p.TakenAt.IsZero()
		m := newest[p.ID].Measured // of one that was not measured, nothing
		i := l.Add(p.ID, p.Name, p.Path, terminal.Known(p.Plant != "", p.Plant), p.Season,
			terminal.Known(timed, p.TakenAt.Format(time.RFC3339)), p.SHA256, m.Lab, m.Status)
		i.Also("#", "#"+strconv.FormatInt(p.ID, 10), "taken", terminal.Known(timed, p.TakenAt.Format("2006-01-02 15:04")))
		if m.Lab != nil {
			c := m.Lab.Lab()
			i.Also("L", words.Fixed(c.L, 2), "a", words.Fixed(c.A, 2), "b", words.Fixed(c.B, 2), "hex", c.Hex(), "colour", cie.Name(c),
				"L* a* b*", fmt.Sprintf("%s %s %s", words.Fixed(c.L, 0), words.Fixed(c.A, 0), words.Fixed(c.B, 0)))
		}
	}
	return a.Stdout.List(&o.out, l, err)
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
	if lines, err := b.Lines(ctx); err != nil {
		return err
	} else if lineName == "" && len(lines) == 1 { // new plants are of the book's only line
		lineName = lines[0].Name
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

func (a *app) photosRemoveCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "remove PHOTO…",
		Short: "Take photos out of the book",
		Long: `Take photos and their readings out of the book. If one of them is not in it, nothing
is changed. A photo is named by its number in "hueward photos", such as #17, or by
its file name. Its file stays in the book's folder; "hueward undo" brings it back.` + cli.ExitStatuses(""),
		Example: `  hueward photos remove '#1'`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			ids, err := photoNumbers(ctx, b, args)
			if err != nil {
				return err
			}
			return a.Tell(b.RemovePhotos(ctx, ids...), "%s taken out of the book\n", words.Count(len(ids), "photo"))
		}),
	}
}

// photosOfNone says that photos show no known plant.
func (a *app) photosOfNone(ctx context.Context, b *book.Book, args []string) error {
	ids, err := photoNumbers(ctx, b, args)
	if err != nil {
		return err
	}
	return a.Tell(b.UnassignPhotos(ctx, ids...), "%s of no plant\n", words.Count(len(ids), "photo"))
}

// photoNumbers are the numbers of the photos that were typed.
func photoNumbers(ctx context.Context, b *book.Book, args []string) ([]int64, error) {
	var ids []int64
	for _, arg := range args {
		p, err := b.FindPhoto(ctx, arg)
		if err != nil {
			return nil, err
		}
		ids = append(ids, p.ID)
	}
	return ids, nil
}
