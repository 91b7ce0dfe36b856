// Package card finds and reads the grey card that lies beside the bloom, and
// returns the gains that make the card grey again.
//
// Start with [Find], which lists the places that look like a card, best first; then [Read] one of them, and take its
// [Patch.Gains]. Positions are working pixels of a [photo.Linear], pixel centres at whole numbers. Colours are linear
// light with the sRGB primaries, 1 the encoding's white.
//
// A card is one even grey patch, with or without a border. For a strip of white,
// grey and black, see [FindStrip] and [ReadStrip]; Find returns its middle patch.
package card

import "errors"

// ErrNone is the cause of a refusal for lack of a card.
var ErrNone = errors.New("no grey card found")
