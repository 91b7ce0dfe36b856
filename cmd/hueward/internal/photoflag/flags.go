// Package photoflag reads the flags that say how photos are measured.
package photoflag

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/patches"
	"hueward/selection/written"
)

// Flags say how a photo is measured; measure and target share them.
type Flags struct {
	opt     colorimg.Options
	patches string
	given   bool // any of them
	cardY   bool
}

// Names are those that go only with a photo.
var Names = []string{"bloom", "card", "corners", "no-card", "card-y", "strip", "patches"}

// AddFlags adds them to those of the command.
func (o *Flags) AddFlags(f cli.Flags, cmd *cobra.Command) {
	given := func(name, usage string, read func(s string) error) {
		f.Given(name, usage, func(s string) error {
			if s == "" {
				return cli.Usagef("--%s is empty; see %s --help", name, cmd.CommandPath())
			}
			return read(s)
		})
	}
	given("bloom", "a point `x,y` on the bloom that is meant, in pixels of the photo as displayed", func(s string) (err error) {
		o.opt.Bloom, err = parseBloom(s)
		return err
	})
	given("card", "where the grey card is, `x,y,w,h`: left, top, width and height in pixels as displayed", func(s string) (err error) {
		o.opt.Card, err = parseCard(s)
		return err
	})
	given("corners", "where a tilted card, strip or set of patches is, `x1,y1,…,x4,y4`: its corners in "+
		"order around it, in pixels as displayed", func(s string) (err error) {
		o.opt.Card, err = Corners(s)
		return err
	})
	f.BoolVar(&o.opt.NoCard, "no-card", false, "there is no card: use the camera's own white balance; always flagged")
	f.Float64Var(&o.opt.CardY, "card-y", card.DefaultY, "how much `LIGHT` the grey card reflects, 0 to 1")
	given("strip", "how much light the `WHITE,GREY,BLACK` of a strip reflect, 0 to 1 (default: those of usual strips, "+stripSample+")",
		func(s string) (err error) {
			o.opt.Strip, err = parseStrip(s)
			return err
		})
	given("patches", "a set of colour patches is in the photo in place of a grey card; its colours are in the CGATS text `FILE`",
		func(s string) error {
			o.patches = s
			return nil
		})
	terminal.Exclusive(cmd, "card", "corners", "no-card")
	terminal.Exclusive(cmd, "strip", "card-y", "no-card")
	terminal.Exclusive(cmd, "patches", "card-y", "no-card")
	terminal.Exclusive(cmd, "patches", "strip")
	f.Check(func([]string) error {
		o.given = o.opt.NoCard || slices.ContainsFunc(Names, func(name string) bool { return name != "no-card" && f.Changed(name) })
		o.cardY = f.Changed("card-y")
		if y := o.opt.CardY; !(y >= 0.01 && y <= 1) {
			return cli.Usagef("--card-y %g: want a share of the light, from 0.01 to 1, such as 0.18", y)
		}
		return nil
	})
}

// Given reports whether any flag says how to measure.
func (o *Flags) Given() bool { return o.given }

// Options are what the flags say, with the colours of a set of patches read.
func (o *Flags) Options() (*colorimg.Options, error) {
	opt := o.opt
	if y := opt.CardY; o.cardY && y > card.UsualStrip[2] && y < card.UsualStrip[0] {
		opt.Strip = card.UsualStrip // should the card turn out to be one
		opt.Strip[1] = y
	}
	var err error
	if o.patches != "" {
		opt.Patches, err = OpenPatches(o.patches)
	}
	return &opt, err
}

// OpenPatches reads the file with a chart's colours.
func OpenPatches(file string) (*patches.Set, error) {
	set, err := patches.Open(file)
	var wrong *patches.SyntaxError
	switch {
	case errors.As(err, &wrong):
		return nil, err
	case err != nil:
		return nil, fmt.Errorf("%s: %s; give the file with the chart's colours", file, cli.ReasonOf(err))
	}
	return set, nil
}

// numbers reads n numbers with commas between them; see [written.Numbers].
func numbers(flag, s, form string, n int) ([]float64, error) {
	v, err := written.Numbers(s)
	switch {
	case err != nil && strings.Count(s, ",") == n-1:
		return nil, cli.Usagef("--%s %q: %w; write it such as --%s %s", flag, s, err, flag, sample[form])
	case err != nil || len(v) != n:
		return nil, cli.Usagef("--%s %q: want %s, such as --%s %s", flag, s, form, flag, sample[form])
	}
	return v, nil
}

var sample = map[string]string{"x,y": "1210,840", "x,y,w,h": "300,420,180,120", cornersForm: "210,180,1390,190,1380,1010,200,1000",
	stripForm: stripSample}

func parseBloom(s string) (*colorimg.Point, error) {
	v, err := numbers("bloom", s, "x,y", 2)
	if err != nil {
		return nil, err
	}
	return &colorimg.Point{v[0], v[1]}, nil
}

func parseCard(s string) (*[4]colorimg.Point, error) {
	v, err := numbers("card", s, "x,y,w,h", 4)
	if err != nil {
		return nil, err
	}
	if v[2] <= 0 || v[3] <= 0 {
		return nil, cli.Usagef("--card %q: width and height must be above 0", s)
	}
	return CornersOf([4]float64{v[0], v[1], v[2], v[3]}), nil
}

// CornersOf is a rectangle's corners, clockwise. Pixel centres are whole
// numbers, so a rectangle of w pixels from x reaches from x - 0.5 on.
func CornersOf(r [4]float64) *[4]colorimg.Point {
	x, y, w, h := r[0]-0.5, r[1]-0.5, r[2], r[3]
	return &[4]colorimg.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

const cornersForm = "x1,y1,x2,y2,x3,y3,x4,y4"

// Corners reads four corners, and turns them clockwise.
func Corners(s string) (*[4]colorimg.Point, error) {
	v, err := numbers("corners", s, cornersForm, 8)
	if err != nil {
		return nil, err
	}
	var c [4]colorimg.Point
	for i := range c {
		c[i] = colorimg.Point{v[2*i], v[2*i+1]}
	}
	left, right := 0, 0 // turns on the way around
	for i := range c {
		p, q, r := c[i], c[(i+1)%4], c[(i+2)%4]
		switch z := (q[0]-p[0])*(r[1]-q[1]) - (q[1]-p[1])*(r[0]-q[0]); {
		case z > 0:
			right++
		case z < 0:
			left++
		}
	}
	switch {
	case left == 4:
		c[1], c[3] = c[3], c[1]
	case right != 4:
		return nil, cli.Usagef("--corners %q: these are not the corners of one area in order around it; give them such as --corners %s", s,
			sample[cornersForm])
	}
	return &c, nil
}

const (
	stripForm   = "white,grey,black"
	stripSample = "0.9,0.18,0.035"
)

// parseStrip reads what the three parts of a strip reflect.
func parseStrip(s string) (y [3]float64, err error) {
	v, err := numbers("strip", s, stripForm, 3)
	if err != nil {
		return y, err
	}
	if !(v[0] <= 1 && v[0] > v[1] && v[1] > v[2] && v[2] >= 0.001) {
		return y, cli.Usagef("--strip %q: want shares of the light, white above grey above black, all from 0.001 to 1, such as --strip %s",
			s, stripSample)
	}
	return [3]float64(v), nil
}
