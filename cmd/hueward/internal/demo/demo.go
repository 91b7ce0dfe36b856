// Package demo is the made-up garden: the whole job, shown.
//
// It is made from a seed; no real garden is meant. "buff apricot" is three seasons of pot marigolds: founders of an
// orange and of a cream lot, their F1, and the F2, on its way to a shade between them; many genes of small effect,
// about one plant in three with a dark eye, and a few of the orange lot each year as a check. "old cosmos" is held
// true, one plant of it an off-type. Three photos are spoilt, as in every season: one has no card, one was taken at
// dusk by a shaking hand, and the card of one lies in a leaf's shade.
package demo

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"hueward/cmd/hueward/internal/choose"
	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/measure"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type app struct {
	*cli.App
	serve func(ctx context.Context, dir string) error // serves the book in dir
}

// Commands are the commands of this folder; serve serves the book in a folder as a page.
func Commands(run *cli.App, serve func(ctx context.Context, dir string) error) []*cobra.Command {
	a := &app{run, serve}
	return []*cobra.Command{a.demoCommand()}
}

// bookFolder is the book's folder in the demo's.
const bookFolder = "book"

type demoOptions struct {
	seed   uint64
	plants int
	serve  bool
}

func (a *app) demoCommand() *cobra.Command {
	o := &demoOptions{}
	cmd := &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Show the whole job on a made-up garden",
		Long: `Make up three seasons of a garden: pot marigolds, from two bought lots on their
way to a buff apricot, with crosses, heads, packets and sowings, and a cosmos that
is held true. Draw their photos, measure them into a new book, rank the plants and
write the reports: a worked example to look at and to try commands on. The plants'
true colours are known, so it can say how close the readings are.

Everything goes into DIR (default: hueward-demo), which must be new or empty.` + cli.ExitStatuses(""),
		Example: `  hueward demo garden
  hueward demo other-garden --plants 6 --seed 2`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			dir := "hueward-demo"
			if len(args) > 0 {
				dir = args[0]
			}
			if dir == "" {
				return cli.Usagef("the demo's folder has no name; name a new folder, or none for hueward-demo")
			}
			if err := a.demo(cmd.Context(), dir, o); err != nil || !o.serve {
				return err
			}
			return a.serve(cmd.Context(), filepath.Join(dir, bookFolder))
		}),
	}
	cmd.Flags().Uint64Var(&o.seed, "seed", 1, "another `NUMBER` makes up another garden")
	cmd.Flags().IntVar(&o.plants, "plants", 24, "how `MANY` marigolds in the newest season,\n3 to 99; fewer take less time")
	cmd.Flags().BoolVar(&o.serve, "serve", false, "then serve its book as a page, until Ctrl-C")
	return cmd
}

func (a *app) demo(ctx context.Context, dir string, o *demoOptions) (err error) {
	if o.plants < 3 || o.plants > 99 {
		return cli.Usagef("--plants %d: want 3 to 99", o.plants)
	}
	made, err := newFolder(dir)
	if err != nil {
		return err
	}
	photos, bookDir := filepath.Join(dir, "photos-to-measure"), filepath.Join(dir, bookFolder)
	defer func() {
		if err == nil {
			return
		}
		os.RemoveAll(photos)
		os.RemoveAll(bookDir)
		if made {
			os.Remove(dir)
		}
		if ctx.Err() != nil {
			err = errors.New("stopped; what the demo had made is removed")
		}
	}()
	g := &grower{ctx: ctx, r: rand.New(rand.NewPCG(o.seed+11, 20260701)), today: a.Now(), now: new(time.Time)}
	if g.b, err = book.Create(ctx, bookDir, &book.Options{Now: func() time.Time { return *g.now }}); err != nil {
		return err
	}
	defer g.b.Close()
	if err := g.play(o.plants); err != nil {
		return err
	}
	*g.now = g.begins(0).AddDate(0, 0, late/2) // when all are photographed, and no cross of theirs is made
	truths, err := a.drawPhotos(ctx, photos, g.shots)
	if err != nil {
		return err
	}
	off, refused, err := a.measureGarden(ctx, g, photos, truths)
	if err != nil {
		return err
	}
	var files []string
	for i, line := range []string{apricot, cosmos} {
		r, err := garden.Rank(ctx, g.b, &garden.Options{Line: line})
		if err != nil {
			return err
		}
		if i == 0 {
			seed, pollen := r.Ranking.Plants[0].ID, r.Ranking.Plants[1].ID
			if r.Pairing != nil && len(r.Pairing.Chosen) > 0 { // the cross that is advised first
				seed, pollen = r.Pairing.Chosen[0].SeedParent, r.Pairing.Chosen[0].PollenParent
			}
			if err := g.due(seed, pollen); err != nil {
				return err
			}
		}
		s := compose.Season(r, a.Now(), a.Version)
		if i == 0 {
			fmt.Fprintln(a.Stdout)
			choose.TellRanking(a.Stdout, s)
		}
		name := filepath.Join(bookDir, choose.ReportName(s))
		if _, err := choose.WriteReport(ctx, a.App, g.b, r, s, name); err != nil {
			return err
		}
		files = append(files, name)
	}
	slices.SortFunc(off, func(a, b miss) int { return cmp.Compare(a.by, b.by) })
	n := len(off)
	fmt.Fprintf(a.Stdout, "\n%s drawn, %d measured, %d refused. The readings' distance from the colours drawn, in Delta E 2000:\n  %s in "+
		"the median, at most %s in 9 of 10, and %s in the worst, %s.\n",
		words.Count(n+refused, "photo"), n, refused, words.Fixed((off[(n-1)/2].by+off[n/2].by)/2, 2),
		words.Fixed(off[(n*9+9)/10-1].by, 2), words.Fixed(off[n-1].by, 2), off[n-1].photo)
	fmt.Fprintf(a.Stdout, "\nPhotos  %s\nBook    %s\nReport  %s\n        %s\n", photos, bookDir, files[0], files[1])
	fmt.Fprintf(a.Stdout, "\nOpen its page:  hueward serve --book %[1]s\nDue today:      hueward today --book %[1]s\n"+
		"Next crosses:   hueward pairs %[2]q "+
		"--book %[1]s\n", bookDir, apricot)
	return nil
}

// newFolder makes dir, or takes it when it is empty; made says which.
func newFolder(dir string) (made bool, err error) {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, os.ErrNotExist):
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return false, fmt.Errorf("make the demo's folder: %w", err)
		}
		return true, nil
	case err != nil:
		return false, fmt.Errorf("%s: cannot be opened: %s; name a new folder", dir, cli.ReasonOf(err))
	case len(entries) > 0:
		return false, fmt.Errorf("%s: folder is not empty; name a new one: hueward demo DIR", dir)
	}
	return false, nil
}

// drawPhotos draws the photos into dir, a folder a season, and returns what a perfect
// measurement of each would find, by file name.
func (a *app) drawPhotos(ctx context.Context, dir string, shots []shot) (map[string]cie.Lab, error) {
	for _, s := range shots {
		if err := os.MkdirAll(filepath.Join(dir, s.season), 0o777); err != nil {
			return nil, err
		}
	}
	bar := a.Progress(len(shots), "drawing  ", &terminal.Output{})
	defer bar.Clear()
	found := make([]cie.Lab, len(shots))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, s := range shots {
		g.Go(func() error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			im, truth := render.Draw(s.scene)
			found[i] = truth.Petal
			bar.Step()
			return cli.WriteFile(filepath.Join(dir, s.season, s.name), cli.Photo,
				func(w io.Writer) error { return photo.WriteJPEG(w, im, 90, s.info) })
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	truths := map[string]cie.Lab{}
	for i, s := range shots {
		truths[s.name] = found[i]
	}
	return truths, nil
}

// miss is how far a reading is from the truth, Delta E 2000.
type miss struct {
	photo string
	by    float64
}

// measureGarden measures the photos into the book as the measure command does, season by
// season. It returns how far each reading is from the truth, and how many were refused.
func (a *app) measureGarden(ctx context.Context, g *grower, dir string, truths map[string]cie.Lab) (off []miss, refused int, err error) {
	for ago := 2; ago >= 0; ago-- {
		n, err := measure.Folder(ctx, a.App, g.b, filepath.Join(dir, g.season(ago)), g.season(ago), func(r *colorimg.Reading) {
			name := filepath.Base(r.File)
			off = append(off, miss{name, cie.DeltaE2000(r.Lab.Lab(), truths[name])})
		})
		if err != nil {
			return nil, 0, err
		}
		refused += n
	}
	if len(off) == 0 {
		return nil, 0, errors.New("no photo could be measured")
	}
	return off, refused, nil
}
