package report

import (
	"cmp"
	"math"

	"hueward/colorimg"
)

// numbers writes the reading's colour and how sure it is, and returns the baseline of the last line.
func (e *explanation) numbers(x, y float64) float64 {
	const w = explainRightW
	r := e.r
	e.text(handHead, x, y-14, w, "The reading")
	e.swatch(x, y, w, 118, r.Hex)
	y += 118 + 38
	y = e.paragraph(hand{27, true, sheetInk}, x, y, w, cmp.Or(r.Name, "no name"))
	lines := [][2]string{{"on a screen", cmp.Or(r.Hex, "–")}}
	if r.Lab != nil {
		lines = append(lines, [2]string{"L*, a*, b*", labText(r.Lab.Lab())})
	}
	if c := r.LCh; c != nil {
		lines = append(lines, [2]string{"L*, C*, h", number(c[0], 1) + ", " + number(c[1], 1) + ", " + number(c[2], 1) + "°"})
	}
	if c := r.Spread; c != nil {
		lines = append(lines, [2]string{"spread in the petals", labText(c.Lab())})
	}
	y = e.table(x, y+2, w, lines)
	y = e.table(x, y+8, w, [][2]string{
		{"precision", "± " + number(r.SE.Precision, 2) + " ΔE 2000"},
		{"trueness", "± " + number(r.SE.Trueness, 1) + " ΔE 2000"},
	})
	return e.paragraph(handSmall, x, y-2, w, "Precision is for comparing plants, trueness for comparing with an instrument; both are "+
		"standard errors.") - 19
}

// table writes names and values in lines and returns the next baseline.
func (e *explanation) table(x, y, w float64, lines [][2]string) float64 {
	for _, l := range lines {
		end := e.text(hand{16, false, sheetSoft}, x, y, 0.65*w, l[0])
		e.textAt(1, hand{17, true, sheetInk}, x+w, y, x+w-end-10, l[1])
		y += 25
	}
	return y
}

// facts writes, under the photo, the colours with their shares, and the card.
func (e *explanation) facts(x, y float64) {
	const gap = 30.0
	w := (explainPhotoW - gap) / 2
	e.colors(x, y, w)
	e.cardFacts(x+w+gap, y-14, w)
}

// colors writes the petals' colours: a bar of their shares, and a line each.
func (e *explanation) colors(x, y, w float64) {
	e.text(handHead, x, y-14, w, "Colours of the petals")
	shares := e.r.Colors[:min(len(e.r.Colors), 6)]
	if len(shares) == 0 {
		e.text(handQuiet, x, y+12, w, "None told apart.")
		return
	}
	all := 0.0
	for _, s := range shares {
		if finite(s.Share) {
			all += max(0, s.Share)
		}
	}
	at := x
	for _, s := range shares {
		if c, ok := hexColor(s.Lab.Lab().Hex()); ok && all > 0 && s.Share > 0 {
			e.box(at, y-2, w*s.Share/all, 40, c)
			at += w * s.Share / all
		}
	}
	e.frame(x, y-2, w, 40, sheetInk)
	y += 58
	for _, s := range shares {
		hex := s.Lab.Lab().Hex()
		e.swatch(x, y-14, 26, 18, hex)
		e.text(hand{16, true, sheetInk}, x+36, y, 64, smallPercent(s.Share))
		e.text(hand{15, false, sheetInk}, x+92, y, w-92-66, labText(s.Lab.Lab()))
		e.textAt(1, handSmall, x+w, y, 64, hex)
		y += 26
	}
}

// cardKinds are what a card is called.
var cardKinds = map[string]string{
	"grey":    "one grey patch",
	"strip":   "a white, grey and black strip",
	"patches": "a set of patches",
	"":        "grey card",
}

// cardFacts writes what the card says of the light, and the tag, and returns the next baseline.
func (e *explanation) cardFacts(x, y, w float64) float64 {
	e.text(handHead, x, y, w, "Card and light")
	y += 28
	c := e.r.Card
	if !c.Found {
		text := "No card was found."
		if e.r.Status != colorimg.Refused {
			text = "No card: measured by the camera’s own white balance."
		}
		y = e.paragraph(handText, x, y, w, text)
	} else {
		lines := [][2]string{{"card", cmp.Or(cardKinds[c.Kind], c.Kind)},
			{"gains R, G, B", number(c.Gains[0], 2) + "  " + number(c.Gains[1], 2) + "  " + number(c.Gains[2], 2)}}
		if c.CCT > 0 {
			lines = append(lines, [2]string{"colour of the light", whole(int(math.Round(c.CCT))) + " K"})
		}
		lines = append(lines, [2]string{"exposure", signed(c.EV, 1) + " stops"})
		y = e.table(x, y, w, lines)
	}
	if t := e.r.Tag; t.Found || t.Text != "" {
		lines := [][2]string{{"tag", cmp.Or(t.Text, "not readable")}}
		if t.Sheet != "" {
			lines = append(lines, [2]string{"photo sheet", t.Sheet})
		}
		y = e.table(x, y, w, lines)
	}
	return y
}

// signed writes a number with its sign, also the plus.
func signed(v float64, decimals int) string {
	s := number(v, decimals)
	if v > 0 && number(0, decimals) != s {
		return "+" + s
	}
	return s
}
