// Package photoflag reads the flags that say how photos are measured.
package photoflag

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/patches"
)

// Flags say how a photo is measured; measure and target share them.
type Flags struct {
	bloom, card, corners string
	strip, patches       string
	noCard               bool
	cardY                float64

	cardYGiven bool
}

// Names are those that go only with a photo.
var Names = []string{"bloom", "card", "corners", "no-card", "card-y", "strip", "patches"}

func (o *Flags) AddFlags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.bloom, "bloom", "", "a point `x,y` on the bloom that is meant, in pixels of the photo as displayed")
	f.StringVar(&o.card, "card", "", "where the grey card is, `x,y,w,h`: left, top, width and height in pixels as displayed")
	f.StringVar(&o.corners, "corners", "", "where a tilted card, strip or set of patches is, `x1,y1,…,x4,y4`: its corners in "+
		"order around it, in pixels as displayed")
	f.BoolVar(&o.noCard, "no-card", false, "there is no card: use the camera's own white balance; always flagged")
	f.Float64Var(&o.cardY, "card-y", card.DefaultY, "how much `LIGHT` the grey card reflects, 0 to 1")
	f.StringVar(&o.strip, "strip", "",
		"how much light the `WHITE,GREY,BLACK` of a strip reflect, 0 to 1 (default: those of usual strips, "+stripSample+")")
	f.StringVar(&o.patches, "patches", "", "a set of colour patches is in the photo in place of a grey card; its colours are in the "+
		"CGATS text `FILE`")
	terminal.Exclusive(cmd, "card", "corners", "no-card")
	terminal.Exclusive(cmd, "strip", "card-y", "no-card")
	terminal.Exclusive(cmd, "patches", "card-y", "no-card")
	terminal.Exclusive(cmd, "patches", "strip")
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		o.cardYGiven = cmd.Flags().Changed("card-y")
		for _, name := range []string{"card", "corners", "strip", "patches", "bloom"} {
			if f := cmd.Flags().Lookup(name); f.Changed && f.Value.String() == "" {
				return fmt.Errorf("--%s is empty", name)
			}
		}
		return before(cmd, args)
	}
}

// Given reports whether any flag says how to measure.
func (o *Flags) Given() bool {
	return o.bloom != "" || o.card != "" || o.corners != "" || o.strip != "" || o.patches != "" || o.noCard || o.cardYGiven
}

// Options are what the flags say, or what is wrong with them.
func (o *Flags) Options() (*colorimg.Options, error) {
	if !(o.cardY > 0 && o.cardY <= 1) {
		return nil, cli.Usagef("--card-y %g: want a share of the light, above 0 and at most 1, such as 0.18", o.cardY)
	}
	opt := &colorimg.Options{NoCard: o.noCard, CardY: o.cardY}
	var err error
	if o.bloom != "" {
		if opt.Bloom, err = parseBloom(o.bloom); err != nil {
			return nil, err
		}
	}
	switch {
	case o.card != "":
		opt.Card, err = parseCard(o.card)
	case o.corners != "":
		opt.Card, err = Corners(o.corners)
	}
	if err != nil {
		return nil, err
	}
	switch {
	case o.strip != "":
		opt.Strip, err = parseStrip(o.strip)
	case o.cardYGiven && o.cardY > card.UsualStrip[2] && o.cardY < card.UsualStrip[0]:
		opt.Strip = card.UsualStrip // should the card turn out to be one
		opt.Strip[1] = o.cardY
	}
	if err != nil {
		return nil, err
	}
	if o.patches != "" {
		if opt.Patches, err = OpenPatches(o.patches); err != nil {
			return nil, err
		}
	}
	return opt, nil
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
