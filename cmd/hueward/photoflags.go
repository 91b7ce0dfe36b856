package main

import (
	"github.com/spf13/cobra"

	"hueward/colorimg"
)

// photoFlags say how a photo is measured; measure and target share them.
type photoFlags struct {
	bloom, card string
	noCard      bool
	cardY       float64
}

func (o *photoFlags) AddFlags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.bloom, "bloom", "", "a point `x,y` on the bloom that is meant, in pixels of the photo as displayed")
	f.StringVar(&o.card, "card", "", "where the grey card is, `x,y,w,h`: left, top, width and height in pixels as displayed")
	f.BoolVar(&o.noCard, "no-card", false, "there is no card: go by the camera's own white balance; always flagged")
	f.Float64Var(&o.cardY, "card-y", 0.18, "how much `LIGHT` the card reflects, 0 to 1")
	exclusive(cmd, "card", "no-card")
}

// options are what the flags say, or what is wrong with them.
func (o *photoFlags) options() (*colorimg.Options, error) {
	if !(o.cardY > 0 && o.cardY <= 1) {
		return nil, usagef("--card-y %g: want a share of the light, above 0 and at most 1, such as 0.18", o.cardY)
	}
	opt := &colorimg.Options{NoCard: o.noCard, CardY: o.cardY}
	var err error
	if o.bloom != "" {
		if opt.Bloom, err = parseBloom(o.bloom); err != nil {
			return nil, err
		}
	}
	if o.card != "" {
		if opt.Card, err = parseCard(o.card); err != nil {
			return nil, err
		}
	}
	return opt, nil
}
