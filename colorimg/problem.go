package colorimg

import (
	"fmt"
	"strings"

	"hueward/colorimg/photo"
)

// Code is a short, stable name for why a photo gives no reading.
type Code string

// The codes.
const (
	CodeUnopened     Code = "unopened" // the file cannot be read
	CodeBroken            = Code(photo.Broken)
	CodeUnsupported       = Code(photo.Unsupported)
	CodeTooLarge          = Code(photo.TooLarge)
	CodeBlack        Code = "black"          // next to no light in it
	CodeColorless    Code = "colourless"     // in black and white
	CodeNoCard       Code = "no-card"        // no grey card found
	CodeCardPlace    Code = "card-place"     // Options.Card lies outside the photo or is too small
	CodeCardLight    Code = "card-light"     // the card is too bright or too dark
	CodeCardOffSheet Code = "card-off-sheet" // no card in the photo sheet's box
	CodeNoPatches    Code = "no-patches"     // the set of patches was not found
	CodePatches      Code = "patches"        // the set of patches cannot be read, or has no usable grey
	CodeBloomPlace   Code = "bloom-place"    // Options.Bloom lies outside the photo
	CodeNoBloom      Code = "no-bloom"       // no bloom found
	CodePetals       Code = "petals"         // too bright, too dark or too few
	CodeTwoLights    Code = "two-lights"     // card and bloom in different light
	CodeStrokes      Code = "strokes"        // Options.Strokes cannot be used
)

// Problem says why a photo gives no reading, and what helps, in words that fit
// any place where they are read: they name no command and no control. [Hints] has
// the words for one place, by the code.
type Problem struct {
	Code Code   // empty: not known, such as for a reading by an older version
	What string // what is wrong: "no grey card found"
	Todo string // what helps: "lay a card beside the bloom"; may be empty
}

// String returns the problem as one line; it is a refused [Reading]'s Reason.
func (p Problem) String() string {
	if p.Todo == "" {
		return p.What
	}
	return p.What + "; " + p.Todo
}

// The problems whose words are always the same.
var (
	problemBlack     = Problem{CodeBlack, "the photo is black, or nearly so", "photograph it again in more light"}
	problemColorless = Problem{CodeColorless, "the photo is in black and white", "photograph it again in colour, without a filter"}
	problemCard      = Problem{CodeNoCard, "no grey card found",
		"mark the card by hand, or lay a card beside the bloom and photograph it again"}
	problemCardPlace = Problem{CodeCardPlace, "the card given lies outside the photo or is too small to read",
		"mark the card again, in pixels of the photo as displayed"}
	problemCardLight = Problem{CodeCardLight, "the grey card cannot be read: too bright or too dark",
		"photograph it again with less light on it, or in open shade"}
	problemOffSheet = Problem{CodeCardOffSheet, "no grey card lies in the photo sheet's box",
		"lay the card into the box and photograph it again"}
	problemNoPatches = Problem{CodeNoPatches, "the set of patches was not found in the photo",
		"mark its corners by hand, check that the file of patches is the right one, or photograph it again"}
	problemNoGrey = Problem{CodePatches, "the set of patches has no readable grey",
		"use a set with a middle grey, and less light"}
	problemBloom = Problem{CodeNoBloom, "no bloom found",
		"mark the bloom by hand, or put a plain board behind the bloom and photograph it again"}
	problemPetals = Problem{CodePetals, "the petals cannot be read: too bright, too dark or too few",
		"go closer, out of the sun, and photograph it again"}
	problemBright = Problem{CodePetals, "most of the petals are too bright to read",
		"take a darker photo, or move out of the sun"}
	problemTwoLights = Problem{CodeTwoLights, "the light changes across the card, and the bloom is in different light",
		"photograph both again in open shade, away from leaves and from your own shadow"}
	problemStroke     = Problem{CodeStrokes, "a stroke painted over it has no size, or too many points", "paint it again"}
	problemStrokeAway = Problem{CodeStrokes, "a stroke painted over it lies outside the photo", "paint it again"}
)

// ProblemOf parses a refused reading's Reason. It finds the code of those
// problems that the user can solve by hand, also in what older
// versions wrote, whose words on what helps differ.
func ProblemOf(reason string) Problem {
	p := Problem{}
	p.What, p.Todo, _ = strings.Cut(reason, "; ")
	for _, k := range []Problem{problemCard, problemCardPlace, problemNoPatches, problemBloom} {
		if p.What == k.What {
			return k
		}
	}
	return p
}

// Hints are the words of one place, such as the command line or the page, on what helps.
// For what they do not hold, the words that fit any place are used. The zero value holds
// none.
type Hints struct {
	Flag    map[Flag]string
	Problem map[Code]string
}

// OfFlag returns what the flag means and what to do about it in this place.
func (h *Hints) OfFlag(f Flag) (what, todo string) {
	what, todo = f.Words()
	if own, ok := h.Flag[f]; ok {
		todo = own
	}
	return what, todo
}

// Of returns the problem with what helps in this place.
func (h *Hints) Of(p Problem) Problem {
	if own, ok := h.Problem[p.Code]; ok {
		p.Todo = own
	}
	return p
}

// Reason returns why the reading is not ok, and what to do; empty where it is ok.
func (h *Hints) Reason(r *Reading) string {
	switch r.Status {
	case Refused:
		return h.Of(ProblemOf(r.Reason)).String()
	case OK:
		return ""
	}
	var s []string
	for _, f := range r.Flags {
		if !f.Info() {
			what, todo := h.OfFlag(f)
			s = append(s, what+": "+todo)
		}
	}
	return strings.Join(s, "; ")
}

// RefusedError is returned for a photo that gives no reading. It
// prints as one line: which file, what is wrong, what helps.
type RefusedError struct {
	File string
	Problem
	Err error // the cause; may be nil
}

func (e *RefusedError) Error() string { return fmt.Sprintf("%s: %s", e.File, e.Problem) }

func (e *RefusedError) Unwrap() error { return e.Err }

// refuse makes the reading a refused one, and returns the error for it.
func (r *Reading) refuse(p Problem, err error) error {
	r.Status, r.Reason = Refused, p.String()
	return &RefusedError{File: r.File, Problem: p, Err: err}
}
