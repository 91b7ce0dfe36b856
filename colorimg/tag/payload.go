package tag

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// Payload is what the text of a code says. A zero field is not said.
type Payload struct {
	Plant string
	MM    float64 // printed width of the code, millimetres: its dark modules from edge to edge
	Sheet string  // name of the photo sheet that it is printed on, in small letters: "a5"; empty: a plant tag
}

const prefix = "HUEWARD:"

// own cuts a text of ours in two, at its second colon; false: it is none.
func own(text string) (first, rest string, ok bool) {
	if len(text) < len(prefix) || !strings.EqualFold(text[:len(prefix)], prefix) {
		return "", "", false
	}
	return strings.Cut(text[len(prefix):], ":")
}

// sizePart is the second part of our text: a sheet, a width, or both.
var sizePart = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(?:([A-Za-z][A-Za-z0-9-]{0,15})(?:/|$))?([0-9]{1,4}(?:\.[0-9]{1,3})?)?$`)
})

// Parse returns what the text of a code says. False: the text is neither of our
// own form nor a plausible name of a plant; see the package comment.
func Parse(text string) (Payload, bool) {
	if !utf8.ValidString(text) {
		return Payload{}, false
	}
	size, plant, ok := own(text)
	if !ok {
		if id := strings.TrimSpace(text); bare(id) {
			return Payload{Plant: id}, true
		}
		return Payload{}, false
	}
	if _, ok := ParseLabel(text); ok {
		return Payload{}, false
	}
	part := sizePart().FindStringSubmatch(size)
	if part == nil || strings.HasSuffix(size, "/") {
		return Payload{}, false
	}
	p := Payload{Plant: plant, Sheet: strings.ToLower(part[1])}
	if part[2] != "" {
		mm, err := strconv.ParseFloat(part[2], 64)
		if err != nil || !printable(mm) {
			return Payload{}, false
		}
		p.MM = mm
	}
	return p, p != Payload{}
}

// printable reports whether a code may be mm wide: more than any phone would read, less than any sheet would hold.
func printable(mm float64) bool { return mm >= 1 && mm <= 1000 }

// String returns the text to print in the code. The width is rounded to a
// thousandth of a millimetre; one that no code can have is left out.
func (p Payload) String() string {
	size := strings.ToUpper(p.Sheet)
	if mm := math.Round(p.MM*1000) / 1000; printable(mm) {
		if size != "" {
			size += "/"
		}
		size += strconv.FormatFloat(mm, 'f', -1, 64)
	}
	return prefix + size + ":" + p.Plant
}

// bareName is what the text of another program's code may look like that names a plant: 24 letters, digits and a few signs.
// noName is what else looks so: a web address, with a dot before its last letters, and a number of the trade, of which
// EAN-8 is the shortest. Common practice, no source.
var (
	bareName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[\pL\pM\p{Nd}][\pL\pM\p{Nd}_./# -]{0,23}$`) })
	noName   = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?i)^www\.|\pL\.\pL{2,}(?:/|$)|^\p{Nd}{9,}$`) })
)

// bare reports whether the text of another program's code may name a plant.
func bare(id string) bool { return bareName().MatchString(id) && !noName().MatchString(id) }
