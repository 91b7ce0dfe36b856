package cie

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// OnTarget is what [Direction] returns when no part of the difference can be seen side by side.
const OnTarget = "on target"

// Thresholds of the words, in Delta E 2000 of one part of the difference. Common practice, no source; about 0.5 is the
// least that a trained eye sees in two flat samples side by side.
const (
	unsaid   = 0.5 // smaller parts are not mentioned
	slightly = 1.5 // below: "slightly"
	much     = 6.0 // above: "much"
	// minorShare of the largest part: smaller parts would only distract.
	minorShare = 0.2
)

// neutral is the chroma below which a colour has no hue that a grower would name; common practice, no source.
const neutral = 8.0

// Direction says in words how x differs from the target: "on target", "slightly darker", "lighter and pinker", "much
// duller and yellower". The words are those of CIEDE2000's parts: lightness, chroma and hue. A hue moves toward one of
// red, yellow, green and blue, whichever lies that way round the circle; a light red is called pink, and between red
// and yellow it is orange that is gained. White, grey and black have no hue: between them and a colour, and among
// themselves, the words say what is added. Adverbs hold for all words up to the next comma or "and much"/"and
// slightly"; plain words come first, so that none can be misread. Parts below a fifth of the largest are left out.
// "than the target" may be added unless it is [OnTarget].
func Direction(x, target Lab) string {
	d := Compare(target, x)
	parts := []part{sided(d.Lightness, "darker", "lighter")}
	cx, ct := x.LCh(), target.LCh()
	switch {
	case cx.C < neutral && ct.C < neutral, ct.C < neutral && cx.C >= neutral:
		// A colour added to none, or one pale tint against another.
		parts = append(parts, part{tintWord(target, x), math.Hypot(d.Chroma, d.Hue)})
	case cx.C < neutral:
		parts = append(parts, part{fadedWord(x), math.Hypot(d.Chroma, d.Hue)})
	default:
		parts = append(parts, sided(d.Chroma, "duller", "more vivid"), part{hueWord(x, target), math.Abs(d.Hue)})
	}
	return phrase(parts)
}

// part is one part of a difference and its size in Delta E 2000.
type part struct {
	word string
	size float64
}

// phrase joins the parts that are worth saying: plain ones, then those with
// "much", then those with "slightly", each group by size.
func phrase(parts []part) string {
	largest := 0.0
	for _, p := range parts {
		largest = max(largest, p.size)
	}
	var groups [3][]part // plain, much, slightly
	for _, p := range parts {
		switch {
		case !(p.size >= unsaid) || p.size < minorShare*largest:
		case p.size > much:
			groups[1] = append(groups[1], p)
		case p.size < slightly:
			groups[2] = append(groups[2], p)
		default:
			groups[0] = append(groups[0], p)
		}
	}
	var words []string
	for i, adverb := range [3]string{"", "much ", "slightly "} {
		slices.SortStableFunc(groups[i], func(a, b part) int { return cmp.Compare(b.size, a.size) })
		for j, p := range groups[i] {
			if j == 0 {
				p.word = adverb + p.word
			}
			words = append(words, p.word)
		}
	}
	switch n := len(words); n {
	case 0:
		return OnTarget
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// sided returns a part of a difference with the word for its sign.
func sided(d float64, less, more string) part {
	if d < 0 {
		return part{less, -d}
	}
	return part{more, d}
}

// fadedWord returns the word for a colour that has lost its hue.
func fadedWord(x Lab) string {
	switch {
	case x.L >= 80:
		return "whiter"
	case x.L <= 25:
		return "blacker"
	}
	return "greyer"
}

// The unique hues in CIELAB, in degrees: what most people see as red without yellow or blue in it, and so on.
//
// Source: Fairchild, Color Appearance Models, unique hues of the NCS in CIELAB: about 24, 90, 162 and 246; from memory.
const (
	redHue    = 24.0
	yellowHue = 90.0
	greenHue  = 162.0
	blueHue   = 246.0
)

var uniqueHues = [4]float64{redHue, yellowHue, greenHue, blueHue}

// turn returns the signed angle from h to g, in (-180, 180].
func turn(h, g float64) float64 {
	d := math.Mod(g-h, 360)
	switch {
	case d > 180:
		d -= 360
	case d <= -180:
		d += 360
	}
	return d
}

// hueWord returns the word for the hue of x compared with the target's, where both have a hue.
func hueWord(x, target Lab) string {
	hx, ht := x.LCh().H, target.LCh().H
	d := turn(ht, hx)
	if math.Abs(d) > 75 {
		// The hues are so far apart that only that of x is named.
		return toward(nearestHue(hx), hx, x)
	}
	mid := math.Mod(ht+d/2+360, 360)
	best, at := 360.0, redHue
	for _, h := range uniqueHues {
		// The next unique hue in the direction of turning.
		t := math.Mod(h-mid+360, 360)
		if d < 0 {
			t = math.Mod(mid-h+360, 360)
		}
		if t < best {
			best, at = t, h
		}
	}
	return toward(at, mid, x)
}

// tintWord returns the word for x compared with y by the direction from y to x in the a*b* plane.
func tintWord(y, x Lab) string {
	h := Lab{A: x.A - y.A, B: x.B - y.B}.LCh().H
	at := nearestHue(h)
	return toward(at, at, x)
}

func nearestHue(h float64) float64 {
	at := redHue
	for _, g := range uniqueHues {
		if math.Abs(turn(h, g)) < math.Abs(turn(h, at)) {
			at = g
		}
	}
	return at
}

// toward returns the word for a step at hue h toward the unique hue at; x is the colour after the step.
func toward(at, h float64, x Lab) string {
	switch at {
	case yellowHue:
		return "yellower"
	case greenHue:
		return "greener"
	case blueHue:
		return "bluer"
	}
	// Toward red. A yellow that reddens turns orange first; common practice.
	if t := turn(redHue, h); t > 50 && t < 100 {
		return "more orange"
	}
	if x.L >= 60 {
		return "pinker"
	}
	return "redder"
}
