package report

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// The paper and inks of an explanation: those of the report's page.
var (
	sheetPaper  = color.NRGBA{0xfd, 0xfc, 0xf8, 0xff}
	sheetInk    = color.NRGBA{0x20, 0x23, 0x1f, 0xff}
	sheetSoft   = color.NRGBA{0x59, 0x5d, 0x56, 0xff}
	sheetLine   = color.NRGBA{0xda, 0xd7, 0xcc, 0xff}
	sheetAccent = color.NRGBA{0x3d, 0x5a, 0x50, 0xff}
	sheetWash   = color.NRGBA{0xf3, 0xf1, 0xe8, 0xff}
)

// sheet is a picture that is written and drawn on. Text is placed by its
// baseline; nothing is written past the right end that it is given.
type sheet struct {
	*image.RGBA                       // opaque
	plain, bold map[float64]font.Face // by size; faces may not be shared between goroutines
	bottom      float64               // of the lowest text written
}

var sheetFonts = sync.OnceValue(func() (f [2]*opentype.Font) {
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		var err error
		if f[i], err = opentype.Parse(ttf); err != nil {
			panic("report: the built-in font is damaged: " + err.Error())
		}
	}
	return f
})

func newSheet(w, h int) *sheet {
	s := &sheet{RGBA: image.NewRGBA(image.Rect(0, 0, w, h)), plain: map[float64]font.Face{}, bold: map[float64]font.Face{}}
	draw.Draw(s.RGBA, s.Rect, image.NewUniform(sheetPaper), image.Point{}, draw.Src)
	return s
}

// hand is a way of writing.
type hand struct {
	size float64 // pixels an em
	bold bool
	ink  color.NRGBA
}

func (s *sheet) face(h hand) font.Face {
	faces, i := s.plain, 0
	if h.bold {
		faces, i = s.bold, 1
	}
	f, ok := faces[h.size]
	if !ok {
		var err error
		// 72 dots an inch make a point a pixel.
		if f, err = opentype.NewFace(sheetFonts()[i], &opentype.FaceOptions{Size: h.size, DPI: 72, Hinting: font.HintingNone}); err != nil {
			panic("report: " + err.Error()) // only a size that is not positive
		}
		faces[h.size] = f
	}
	return f
}

// width is how far text reaches.
func (s *sheet) width(h hand, text string) float64 {
	return float64(font.MeasureString(s.face(h), text)) / 64
}

// text writes one line from x, shortened where it would pass x + room, and returns where it ends.
func (s *sheet) text(h hand, x, y, room float64, text string) float64 {
	text = s.shorten(h, text, room)
	d := font.Drawer{Dst: s.RGBA, Src: image.NewUniform(h.ink), Face: s.face(h),
		Dot: fixed.Point26_6{X: fixed.Int26_6(math.Round(x * 64)), Y: fixed.Int26_6(math.Round(y * 64))}}
	d.DrawString(text)
	s.bottom = max(s.bottom, y+0.25*h.size)
	return float64(d.Dot.X) / 64
}

// textAt writes one line of which so much is before x: 0.5 is around it, 1 is up to it.
func (s *sheet) textAt(before float64, h hand, x, y, room float64, text string) {
	text = s.shorten(h, text, room)
	s.text(h, x-before*s.width(h, text), y, room+1, text)
}

// shorten takes out of a text's middle what is too much for room: the ends of
// names differ most. Signs that cannot be seen become spaces.
func (s *sheet) shorten(h hand, text string, room float64) string {
	rs := []rune(text)
	const most = 500 // more than the widest sheet holds; a hostile name costs no time
	if len(rs) > most {
		rs = append(append(rs[:most/2:most/2], '…'), rs[len(rs)-most/2:]...)
	}
	for i, r := range rs {
		if !unicode.IsPrint(r) {
			rs[i] = ' '
		}
	}
	if text = string(rs); s.width(h, text) <= room {
		return text
	}
	for n := len(rs) - 1; n > 0; n-- {
		head := (2*n + 2) / 3
		if t := string(rs[:head]) + "…" + string(rs[len(rs)-(n-head):]); s.width(h, t) <= room {
			return t
		}
	}
	return ""
}

// wrap breaks text into lines that fit room; a word that does not is broken.
func (s *sheet) wrap(h hand, text string, room float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || !unicode.IsPrint(r) && r != '\u00a0' }) {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if s.width(h, try) <= room {
			line = try
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = ""
		for _, r := range word {
			if line != "" && s.width(h, line+string(r)) > room {
				lines, line = append(lines, line), ""
			}
			line += string(r)
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// paragraph writes text in lines from the baseline y on and returns the
// baseline that would follow. What would take more than 12 lines is cut.
func (s *sheet) paragraph(h hand, x, y, room float64, text string) float64 {
	const most = 12
	if rs := []rune(text); len(rs) > 2000 {
		text = string(rs[:2000])
	}
	lines := s.wrap(h, text, room)
	if len(lines) > most {
		lines = append(lines[:most-1], s.shorten(h, lines[most-1], room-h.size)+"…")
	}
	for _, line := range lines {
		s.text(h, x, y, room, line)
		y += math.Round(1.35 * h.size)
	}
	return y
}

// box fills a rectangle, its edges on whole pixels.
func (s *sheet) box(x, y, w, h float64, c color.Color) {
	draw.Draw(s.RGBA, pixelBox(x, y, w, h), image.NewUniform(c), image.Point{}, draw.Over)
}

// frame draws a line of one pixel just inside a rectangle.
func (s *sheet) frame(x, y, w, h float64, c color.Color) {
	s.box(x, y, w, 1, c)
	s.box(x, y+h-1, w, 1, c)
	s.box(x, y, 1, h, c)
	s.box(x+w-1, y, 1, h, c)
}

func pixelBox(x, y, w, h float64) image.Rectangle {
	return image.Rect(int(math.Round(x)), int(math.Round(y)), int(math.Round(x+w)), int(math.Round(y+h)))
}

// in is a part of the sheet to draw shapes on; a pen's positions count from its corner, and what leaves it is cut off.
func (s *sheet) in(r image.Rectangle) draw.Image {
	return s.SubImage(r).(draw.Image)
}

// hexColor is what "#rrggbb" names; ok is false for anything else.
func hexColor(hex string) (c color.NRGBA, ok bool) {
	if !hexForm.MatchString(hex) {
		return c, false
	}
	n, err := strconv.ParseUint(hex[1:], 16, 32)
	return color.NRGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), 255}, err == nil
}

// swatch fills a rectangle with a colour and frames it; a colour that is not one is left empty and crossed out.
func (s *sheet) swatch(x, y, w, h float64, hex string) {
	if c, ok := hexColor(hex); ok {
		s.box(x, y, w, h, c)
	} else {
		s.box(x, y, w, h, sheetWash)
		r := pixelBox(x, y, w, h)
		p := newPen(s.in(r))
		p.loop([][2]float64{{0, 0}, {w, h}}, 1)
		p.ink(sheetSoft)
	}
	s.frame(x, y, w, h, sheetInk)
}
