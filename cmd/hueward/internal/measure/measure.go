package measure

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/photoflag"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/book/transfer"
)

type measureOptions struct {
	photoflag.Flags
	plant, list, season, line, masks, explain string
	noBook, session, again                    bool
	out                                       terminal.Output
}

func (a *app) measureCommand() *cobra.Command {
	o := &measureOptions{}
	cmd := &cobra.Command{
		Use:   "measure PHOTO|DIR…",
		Short: "Read petal colour from photos",
		Long: `Read the petal colour of each photo's main bloom, corrected by the grey card in
the photo, or by a white-grey-black strip, or with --patches by a set of colour
patches. Folders are searched with all folders below them; pictures that
--masks and --explain wrote are left out.

In a book, or with --book, each photo is copied in and its reading kept. A photo's
plant is named by --plant, by --list, by the tag or photo sheet in the picture, by
the name of its folder, or by its file name up to the first underscore: M-07_1.jpg
shows M-07. The first of these that names one counts. A photo whose plant is not
known is kept without one: see "hueward photos". A photo that is in the book
already, measured by the present method, is not measured again, so a run that was
stopped can just be repeated.

With --session the photos are read in the order in which they were taken. A picture
of a plant's tag alone is not refused: it names the plant of the photos after it,
until the next tag.

A photo without a card, without a bloom, or in bad light is refused with the reason;
the others are measured. Ctrl-C stops; what is measured is kept.` + cli.ExitStatuses("some photos were refused"),
		Example: `  hueward measure photo.jpg
  hueward measure photos --list plants.csv --no-book
  hueward measure photo.jpg --bloom 800,600 --json
  hueward measure photo.jpg --explain why`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 && o.list == "" {
				return errors.New("name a photo, a folder of photos, or a --list")
			}
			for _, arg := range args {
				if arg == "" {
					return errors.New("a photo's name is empty")
				}
			}
			return nil
		},
		RunE: a.Do(func(cmd *cobra.Command, args []string) error { return a.measure(cmd, args, o) }),
	}
	f := a.Flags(cmd)
	o.Flags.AddFlags(f, cmd)
	f.StringVar(&o.plant, "plant", "", "the `ID` of the plant that the photos show")
	f.StringVar(&o.list, "list", "", "a table `FILE.csv` with the columns file and plant, and if you like bloom_x, bloom_y, card_x, "+
		"card_y, card_w, card_h")
	f.StringVar(&o.season, "season", "", "the `SEASON` that the photos belong to (default: the year they were taken, or the book's newest "+
		"season when its seasons are not named by years)")
	f.StringVar(&o.line, "line", "", "the `LINE` of plants that are new")
	f.StringVar(&o.masks, "masks", "", "write a picture of each photo's petals into the folder `DIR`, 255 where petal")
	f.StringVar(&o.explain, "explain", "", "write a picture that explains each photo's reading into the folder `DIR`")
	f.BoolVar(&o.session, "session", false, "a photo of a tag alone names the plant of the photos taken after it, until the next tag")
	f.BoolVar(&o.again, "again", false, "measure again even photos that the book has, measured by the present method")
	f.BoolVar(&o.noBook, "no-book", false, "only measure, even in a book's folder")
	o.out.AddFlags(cmd)
	return cmd
}

func (a *app) measure(cmd *cobra.Command, args []string, o *measureOptions) error {
	ctx := cmd.Context()
	opt, err := o.Options()
	if err != nil {
		return err
	}
	opt.KeepMask, opt.KeepReasons = o.masks != "", o.explain != ""
	for name, value := range map[string]*string{"plant": &o.plant, "season": &o.season} {
		if cmd.Flags().Changed(name) {
			if *value, err = naming.CleanID(*value); err != nil {
				return cli.Usagef("--%s %w", name, err)
			}
		}
	}
	var rows []transfer.Assignment
	if o.list != "" {
		if rows, err = readList(o.list); err != nil {
			return err
		}
	}
	ins := collect(args, a.Refuse)
	if o.list != "" && (len(ins) > 0 || len(args) == 0) {
		ins = matchList(ins, o.list, rows)
	}
	if len(ins) == 0 {
		if a.Refused == 0 {
			return fmt.Errorf("%s: no photo is listed; write a row for each, with the columns file and plant", o.list)
		}
		return cli.ErrNothing
	}
	if o.session {
		byCapture(ins)
	}
	m := &measuring{app: a, o: o, jobs: jobsOf(ins, o.plant, opt), refuse: a.Refuse}
	if m.masks, err = pictureNames("masks", maskKind, o.masks, ins, cli.Mask); err != nil {
		return err
	}
	if m.explained, err = pictureNames("explain", explainKind, o.explain, ins, cli.Explain); err != nil {
		return err
	}
	if m.keeper, err = a.keeper(ctx, o, m.jobs, ins); err != nil {
		return err
	}
	if o.session {
		// The tag before a photo goes before what its folder or file name says.
		m.session = &session{}
		for i := range m.jobs {
			m.session.guesses = append(m.session.guesses, m.jobs[i].Guess)
			m.jobs[i].Guess = ""
		}
	}
	defer m.keeper.close()
	if err := m.useCameras(ctx, opt); err != nil {
		return err
	}
	m.teller = m.newTeller()
	return m.run(ctx, opt)
}

// jobsOf says of each photo which plant it shows and how it is measured.
func jobsOf(ins []input, plant string, opt *colorimg.Options) []colorimg.Job {
	jobs := make([]colorimg.Job, len(ins))
	for i, in := range ins {
		j := colorimg.Job{File: in.file, Plant: plant}
		if in.row != nil {
			if plant == "" {
				j.Plant = in.row.Plant
			}
			if in.row.Bloom != nil || in.row.Card != nil {
				own := *opt
				if p := in.row.Bloom; p != nil {
					own.Bloom = &colorimg.Point{p[0], p[1]}
				}
				if r := in.row.Card; r != nil && !opt.NoCard {
					own.Card = photoflag.CornersOf(*r)
				}
				j.Options = &own
			}
		}
		jobs[i] = j
	}
	return jobs
}

// measuring is one run of the command over its photos.
type measuring struct {
	*app
	o         *measureOptions
	jobs      []colorimg.Job
	masks     []string // where each mask goes; nil: nowhere
	explained []string // where each explanation goes; nil: nowhere
	keeper    *keeper  // nil: no book
	session   *session // nil: each photo says itself which plant it shows
	teller    teller
	refuse    func(format string, args ...any) // names a refused photo
}

// outcome is what became of one photo, ready to be printed.
type outcome struct {
	reading     *colorimg.Reading
	refused     *colorimg.RefusedError
	kept        *book.Recorded // nil: not kept
	unkept      string         // why it was measured but not kept; empty: kept, or no book
	result      colorimg.Result
	changed     bool   // it was not what was measured any more when it was to be kept
	alone       bool   // in a session: a picture of a tag and nothing else
	unexplained string // why an explanation that was asked for is missing; empty: it is not
}

// run measures, keeps and tells. Outcomes are printed in the order of the photos, each as soon as those before it are.
func (m *measuring) run(ctx context.Context, opt *colorimg.Options) error {
	bar := m.Progress(len(m.jobs), "measuring", &m.o.out)
	waiting, next, done := map[int]outcome{}, 0, 0
	show := func(oc outcome) error {
		if m.session != nil {
			// In their turn: a photo's plant may be that of the tag before it.
			if oc.alone = m.session.carry(&oc.result); oc.alone {
				oc.refused = nil
			} else if err := m.keeper.keep(context.WithoutCancel(ctx), oc.result, &oc); err != nil {
				return err
			}
		}
		switch {
		case oc.refused != nil:
			bar.Clear()
			m.refuse("%s", hints.Refusal(oc.refused))
		case oc.unkept != "":
			bar.Clear()
			m.refuse("%s: measured but not kept: %s", oc.reading.File, oc.unkept)
		}
		if oc.unexplained != "" {
			bar.Clear()
			m.refuse("%s: not explained: %s", oc.reading.File, oc.unexplained)
		}
		return m.teller.tell(oc)
	}
	known, err := m.remembered(ctx, opt)
	if err != nil {
		return err
	}
	if m.keeper != nil {
		m.keeper.unmeasured = len(known)
	}
	var later []int
	last := false
	each := func(r colorimg.Result) error {
		if !last && stillWritten(r) {
			later = append(later, r.Index)
			return nil
		}
		oc := outcome{reading: r.Reading, refused: r.Refused, result: r}
		if m.masks != nil && r.Reading.Mask != nil {
			if err := writePicture(m.masks[r.Index], cli.Mask, r.Reading.Mask); err != nil {
				return err
			}
			r.Reading.Mask = nil
		}
		unexplained, err := m.explain(ctx, r, opt)
		if err != nil {
			return err
		}
		oc.unexplained = unexplained
		// What is measured is kept even when Ctrl-C came meanwhile.
		if m.session == nil {
			if err := m.keeper.keep(context.WithoutCancel(ctx), r, &oc); err != nil {
				return err
			}
			if !last && oc.changed {
				later = append(later, r.Index)
				return nil
			}
		}
		done++
		bar.Step()
		waiting[r.Index] = oc
		for {
			oc, ok := waiting[next]
			if !ok {
				return nil
			}
			delete(waiting, next)
			next++
			if err := show(oc); err != nil {
				return err
			}
		}
	}
	err = m.batch(ctx, opt, known, each)
	if last = true; err == nil && len(later) > 0 {
		err = m.again(ctx, opt, later, each)
	}
	bar.Clear()
	for ; m.session == nil && next < len(m.jobs); next++ { // stopped: those behind a gap; in a session there may be a tag in it
		if oc, ok := waiting[next]; ok {
			err = cmp.Or(err, show(oc))
		}
	}
	err = cmp.Or(err, m.teller.end(), m.tellNew(context.WithoutCancel(ctx)))
	return m.ended(ctx, err, done)
}

// ended says what was done of all the photos when the work ended with err.
func (m *measuring) ended(ctx context.Context, err error, done int) error {
	what, changed := "measured", m.masks != nil || m.explained != nil
	if m.keeper != nil {
		what, changed = "measured and kept", m.keeper.kept > 0
	}
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		err = fmt.Errorf("stopped; %d of %s %s; run the same command again for the rest", done, words.Count(len(m.jobs), "photo"), what)
	case done > 0:
		err = fmt.Errorf("%w; %d of %s were %s before", err, done, words.Count(len(m.jobs), "photo"), what)
	}
	if done > 0 && changed {
		return &cli.PartError{Err: err}
	}
	return err
}

// Folder measures a folder's photos into the book as the measure command does. What
// was measured is handed to tell; the refused are named on standard error and counted.
func Folder(ctx context.Context, run *cli.App, b *book.Book, dir, season string, tell func(*colorimg.Reading)) (refused int, err error) {
	a := &app{run}
	ins := collect([]string{dir}, a.Warn)
	o := &measureOptions{season: season}
	m := &measuring{app: a, o: o, jobs: jobsOf(ins, "", &colorimg.Options{})}
	if m.keeper, err = a.newKeeper(ctx, b, o, m.jobs, ins); err != nil {
		return 0, err
	}
	m.refuse = func(format string, args ...any) {
		refused++
		a.Warn(format, args...)
	}
	m.teller = tellerFunc(func(oc outcome) error {
		if oc.refused == nil {
			tell(oc.reading)
		}
		return nil
	})
	err = m.run(ctx, &colorimg.Options{})
	return refused, err
}
