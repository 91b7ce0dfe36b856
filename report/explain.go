package report

import (
	"cmp"
	"image"
	"math"
	"slices"
	"strings"

	"hueward/colorimg"
	"hueward/report/words"
)

// An explanation's width, and its least height, in pixels.
const (
	explainWidth  = 1600
	explainHeight = 1100
)

// ExplainSide is the longest side of the photo that [Explain] makes the best
// use of, in pixels: enough for a bloom that fills a quarter of the frame.
const ExplainSide = 1600

// The columns of an explanation: photo, bloom, numbers.
const (
	explainLeft   = 40.0
	explainBloom  = 690.0
	explainRight  = 1210.0
	explainPhotoW = 620.0
	explainBloomW = 480.0
	explainRightW = explainWidth - explainLeft - explainRight
	explainTop    = 148.0 // of the pictures
	explainTall   = 465.0 // of the pictures
)

// Ways of writing.
var (
	handTitle  = hand{34, true, sheetInk}
	handHead   = hand{19, true, sheetAccent}
	handText   = hand{17, false, sheetInk}
	handStrong = hand{17, true, sheetInk}
	handQuiet  = hand{15, false, sheetSoft}
	handSmall  = hand{14, false, sheetSoft}
)

// Explain draws one picture that shows where a reading comes from: the photo with the card, the petals and the tag
// outlined; the bloom with every pixel that does not count, by its reason; the colours from the bloom's middle to its
// rim; the numbers; and the doubts, with what to do. A refused photo is shown with what was found of it and the reason.
//
// photo is the whole photo as displayed, at any size, in sRGB; [ExplainSide] is a good longest side. It may be nil, and so
// may parts of r (a card, [colorimg.Reading].Reasons, rings), but not r itself. The picture is 1600
// pixels wide and 1100 high, or higher where the doubts need the room. Every number in it is the reading's.
func Explain(photo image.Image, r *colorimg.Reading) *image.NRGBA {
	// The largest height is more than twice what all flags together would take.
	s := newSheet(explainWidth, 4*explainHeight)
	e := &explanation{sheet: s, r: r}
	if photo != nil {
		e.photo = copyOf(photo)
	}
	e.header()
	if r.Status == colorimg.Refused {
		e.refused()
	} else {
		e.whole(explainLeft, explainTop, explainPhotoW, explainTall)
		e.bloom(explainBloom, explainTop, explainBloomW, explainTall)
		e.facts(explainLeft, explainTop+explainTall+46)
		e.legend(explainBloom, explainTop+explainTall+46)
		e.profile(explainLeft, explainTop+explainTall+270, explainBloom+explainBloomW-explainLeft)
		e.doubts(explainRight, e.numbers(explainRight, explainTop)+44, explainRightW)
	}
	h := min(max(explainHeight, int(math.Ceil(s.bottom))+36), s.Rect.Dy())
	// Where nothing is transparent, the two ways to hold a pixel are one.
	return &image.NRGBA{Pix: s.Pix[: h*s.Stride : h*s.Stride], Stride: s.Stride, Rect: image.Rect(0, 0, explainWidth, h)}
}

// explanation is the state of drawing one picture.
type explanation struct {
	*sheet
	r     *colorimg.Reading
	photo *image.NRGBA // from (0, 0); nil: none
	near  window       // of the bloom
}

// statusWords are the names of statuses, each with a mark that distinguishes it without colour.
var statusWords = map[colorimg.Status]string{
	colorimg.OK:      "sound",
	colorimg.Check:   "to be looked at",
	colorimg.Refused: "refused",
}

// header writes the file, when and how it was taken, and the verdict.
func (e *explanation) header() {
	r := e.r
	verdict := cmp.Or(statusWords[r.Status], string(r.Status))
	w := min(260, e.width(handStrong, verdict)+32)
	x, y := explainWidth-explainLeft-w, 28.0
	draw, ground, ink := e.box, sheetInk, sheetPaper
	if r.Status == colorimg.OK {
		draw, ground, ink = e.frame, sheetAccent, sheetAccent
	}
	draw(x, y, w, 36, ground)
	e.textAt(0.5, hand{17, true, ink}, x+w/2, y+24, w-20, verdict)
	name := baseName(r.File)
	if r.Plant != nil && *r.Plant != "" {
		name += " · plant " + *r.Plant
	}
	e.text(handTitle, explainLeft, 58, x-explainLeft-30, name)

	size := ""
	if r.Size[0] > 0 {
		size = whole(r.Size[0]) + " × " + whole(r.Size[1]) + " pixels"
	}
	e.text(handQuiet, explainLeft, 88, explainWidth-2*explainLeft, words.Joined(" · ", after("taken ", takenAt(r)), r.Camera, size,
		after("colours read by ", r.Profile), after("camera model ", r.Model)))
	e.box(explainLeft, 103, explainWidth-2*explainLeft, 1, sheetLine)
}

// after is what is known after the word for it, or nothing.
func after(word, s string) string {
	if s == "" {
		return ""
	}
	return word + s
}

// takenAt is when a photo was taken, or nothing.
func takenAt(r *colorimg.Reading) string {
	if r.TakenAt == nil || r.TakenAt.IsZero() {
		return ""
	}
	return r.TakenAt.Format("2 January 2006, 15:04")
}

// refused shows a photo that gave no reading: large, and beside it why.
func (e *explanation) refused() {
	w := explainBloom + explainBloomW - explainLeft
	e.whole(explainLeft, explainTop, w, explainHeight-explainTop-50)
	x, y := explainRight, explainTop-14
	e.text(handHead, x, y, explainRightW, "No colour was read")
	why, todo, _ := strings.Cut(e.r.Reason, "; ")
	y = e.paragraph(hand{24, true, sheetInk}, x, y+40, explainRightW, words.Sentence(why))
	y = e.paragraph(hand{19, false, sheetInk}, x, y+4, explainRightW, words.Sentence(todo))
	y = e.cardFacts(x, y+30, explainRightW)
	e.doubts(x, y+34, explainRightW)
}

// doubts writes the reading's flags: what was seen, and what to do.
func (e *explanation) doubts(x, y, w float64) {
	if len(e.r.Flags) == 0 {
		if e.r.Status != colorimg.Refused {
			e.text(handHead, x, y, w, "Doubts")
			e.text(handText, x, y+28, w, "None.")
		}
		return
	}
	e.text(handHead, x, y, w, "Doubts, and what to do")
	y += 28
	info := slices.DeleteFunc(slices.Clone(e.r.Flags), func(f colorimg.Flag) bool { return !f.Info() })
	act := slices.DeleteFunc(slices.Clone(e.r.Flags), colorimg.Flag.Info)
	for told, f := range append(act, info...) { // those to act on first
		if y > float64(e.Rect.Dy())-700 { // the longest doubt takes less
			e.text(handQuiet, x, y, w, "and "+whole(len(e.r.Flags)-told)+" more")
			return
		}
		what, todo := f.Words()
		top := y - 13
		text, h, c := capital(what), handStrong, sheetAccent
		if f.Info() {
			text, h, c = text+" (for information)", handText, sheetLine
		}
		y = e.paragraph(h, x+14, y, w-14, text)
		if todo != "" {
			y = e.paragraph(handQuiet, x+14, y, w-14, words.Sentence("to do: "+todo))
		}
		e.box(x, top, 4, y-top-14, c)
		y += 10
	}
}

// capital writes a sentence's first letter large.
func capital(s string) string { return strings.TrimSuffix(words.Sentence(s+"."), ".") }

// whole writes a count, with gaps between its thousands where it is long.
func whole(n int) string {
	s := number(float64(n), 0)
	if len(s) < 5 {
		return s
	}
	for i := len(s) - 3; i > 0; i -= 3 {
		if s[i-1] >= '0' && s[i-1] <= '9' {
			s = s[:i] + "\u00a0" + s[i:]
		}
	}
	return s
}
