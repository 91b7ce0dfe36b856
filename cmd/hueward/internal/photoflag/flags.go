// Package photoflag reads the flags that say how photos are measured.
package photoflag

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/patches"
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
		if y := o.opt.CardY; !(y > 0 && y <= 1) {
			return cli.Usagef("--card-y %g: want a share of the light, above 0 and at most 1, such as 0.18", y)
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
