package measure

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/photoflag"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/camera"
	"hueward/colorimg/card"
	"hueward/colorimg/patches"
	"hueward/colorimg/photo"
	"hueward/report/compose"
	"hueward/selection/book"
)

type cameraOptions struct {
	patches, camera, forget string
	corners                 *[4]colorimg.Point
	out                     terminal.Output
}

func (a *app) cameraCommand() *cobra.Command {
	o := &cameraOptions{}
	cmd := &cobra.Command{
		Use:   "camera [PHOTO]",
		Short: "Learn a phone's colours from a photo of a chart",
		Long: `Learn what a phone does to colours, once, from one photo of a chart of patches,
and undo it in all photos of that phone that are measured later. They need
only the grey card. Phones add contrast and saturation, which no grey card undoes.

The chart's colours are in a CGATS text file, which comes with the chart. Take the
photo in open shade or under an even sky, the chart flat and filling half of the
picture, without glare. Several forms of correction are
tried; each patch is predicted by a model that has not seen it, and the simplest
form that does as well as the best is taken.

In a book, or with --book, the model is kept, in place of an earlier one of the
same phone. Photos measured before stay as they are until they are measured again.
Without PHOTO the book's models are listed.` + cli.ExitStatuses(""),
		Example: `  hueward camera chart.jpg --patches chart.txt
  hueward camera
  hueward camera --forget "Garden Pocket 1"`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			set := cmd.Flags().Changed
			switch {
			case len(args) == 1 && set("forget"):
				return cli.Usagef("--forget goes without a photo")
			case len(args) == 1 && o.patches == "":
				return cli.Usagef("name the file with the chart's colours: hueward camera %s --patches FILE", args[0])
			case len(args) == 1:
				return a.learnCamera(cmd.Context(), args[0], o)
			case set("patches") || set("corners") || set("camera"):
				return cli.Usagef("name the photo of the chart: hueward camera PHOTO --patches FILE")
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error {
				if set("forget") {
					return a.forgetCamera(cmd.Context(), b, o)
				}
				return a.listCameras(cmd.Context(), b, o)
			})
		}),
	}
	f := a.Flags(cmd)
	f.StringVar(&o.patches, "patches", "", "the chart's colours, a CGATS text `FILE`")
	f.Given("corners", "where the chart is, `x1,y1,…,x4,y4`: the outer corners of its patches, in order around it, in "+
		"pixels as displayed", func(s string) (err error) {
		o.corners, err = photoflag.Corners(s)
		return err
	})
	f.StringVar(&o.camera, "camera", "", "the camera's `\"MAKE MODEL\"`, when the photo does not say it")
	f.StringVar(&o.forget, "forget", "", "remove the model of the camera `\"MAKE MODEL\"` from the book")
	terminal.Exclusive(cmd, "forget", "patches")
	o.out.AddFlags(cmd)
	return cmd
}

// learnt is one chart's photo and what was learnt from it.
type learnt struct {
	camera, file, set string
	corners           [4]colorimg.Point
	model             *camera.Model
	kept, replaced    bool
	dir               string // the book's
}

func (a *app) learnCamera(ctx context.Context, file string, o *cameraOptions) error {
	name, err := cleanCamera(o.camera)
	if err != nil {
		return err
	}
	set, err := photoflag.OpenPatches(o.patches)
	if err != nil {
		return err
	}
	b, err := a.OpenBook(ctx)
	switch {
	case err == nil:
		defer b.Close()
	case !errors.Is(err, book.ErrNoBook) || a.BookNamed():
		return err
	}
	p, err := photo.Open(ctx, file, &photo.Options{Work: chartWork})
	if err != nil {
		return err
	}
	defer p.Done()
	l := &learnt{camera: name, file: file, set: set.Name}
	switch {
	case name == "" && p.Camera == "":
		return fmt.Errorf(`%s: the photo does not say which camera took it; give --camera "MAKE MODEL", as the camera's other photos say it`,
			file)
	case name == "":
		l.camera = p.Camera
	case p.Camera != "" && !strings.EqualFold(name, p.Camera):
		a.Warn("%s: it says that %s took it; what is learnt will count for %s", file, p.Camera, name)
	}
	samples, err := l.read(p, set, o.corners)
	if err != nil {
		return err
	}
	if l.model, err = camera.Fit(samples, &camera.Options{Profile: p.Profile}); err != nil {
		return fmt.Errorf("%s: %w; photograph the chart again, in even light and a little darker", file, err)
	}
	l.model.Learnt = a.Now().UTC().Truncate(time.Second)
	if b != nil {
		if err := l.keep(ctx, b); err != nil {
			return err
		}
	}
	return a.tellLearnt(l, o)
}

// chartWork is the longest side of the picture that a chart is read from: twice the usual, as its patches are small.
const chartWork = 2048

// read finds the chart, or takes it from the corners given, and reads it.
func (l *learnt) read(p *photo.Photo, set *patches.Set, corners *[4]colorimg.Point) ([]patches.Sample, error) {
	im := p.Image
	var q card.Quad
	if corners != nil {
		for i, c := range corners {
			q[i] = [2]float64{(c[0]+0.5)/im.ScaleX - 0.5, (c[1]+0.5)/im.ScaleY - 0.5}
		}
		if turned, _, ok := set.Orient(im, q); ok {
			q = turned // from whichever corner they were given
		}
	} else {
		var ok bool
		if q, _, ok = set.Find(im); !ok {
			return nil, fmt.Errorf("%s: no chart with these colours found; give --corners x1,y1,x2,y2,x3,y3,x4,y4, the outer corners of its "+
				"patches in order around it", l.file)
		}
	}
	for i, c := range q {
		l.corners[i] = colorimg.Point{(c[0]+0.5)*im.ScaleX - 0.5, (c[1]+0.5)*im.ScaleY - 0.5}
	}
	samples, err := set.Read(im, q)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", l.file, err)
	}
	return samples, nil
}

func (l *learnt) keep(ctx context.Context, b *book.Book) error {
	text, err := json.Marshal(l.model)
	if err != nil {
		return err
	}
	l.replaced, err = b.SetCameraModel(ctx, book.CameraModel{
		Camera: l.camera, Model: text, Kind: string(l.model.Kind), Patches: l.model.Patches,
		Error: l.model.Error.Mean, Photo: filepath.Base(l.file), LearntAt: l.model.Learnt,
	})
	l.kept, l.dir = err == nil, b.Dir()
	return err
}

// cleanCamera is a camera's name as the user gave it.
func cleanCamera(s string) (string, error) {
	s = strings.TrimSpace(s)
	if len(s) > 200 || strings.ContainsFunc(s, unicode.IsControl) {
		return "", cli.Usagef("--camera %.40q: want make and model, such as \"Made-up Phone 3\"", s)
	}
	return s, nil
}

// useCameras lets all photos of the run be corrected by the book's models.
func (m *measuring) useCameras(ctx context.Context, opt *colorimg.Options) (err error) {
	if m.keeper == nil {
		return nil
	}
	if opt.Cameras, err = compose.Cameras(ctx, m.keeper.b); err != nil {
		return err
	}
	for i := range m.jobs {
		if own := m.jobs[i].Options; own != nil {
			own.Cameras = opt.Cameras
		}
	}
	return nil
}
