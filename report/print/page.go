package print

import (
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// The inks: black for what is measured by, greys for what is only read, so that nothing coloured lies beside the bloom.
const (
	black = 0
	ink   = 60
	quiet = 110
	faint = 170
)

const fontName = "go"

// page draws on one PDF in millimetres.
type page struct{ pdf *fpdf.Fpdf }

// Creator is what a sheet says of who made it, by which an earlier one is known.
const Creator = "hueward"

// newPage begins a PDF whose pages are w × h.
func newPage(w, h float64, title string, created time.Time) page {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	// The library writes the time of the run where none is given, and its catalogues in the order of a map.
	if created.IsZero() {
		created = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	pdf.SetCreationDate(created.UTC())
	pdf.SetModificationDate(created.UTC())
	pdf.SetCatalogSort(true)
	pdf.SetTitle(printable(title), true)
	pdf.SetCreator(Creator, true)
	pdf.AddUTF8FontFromBytes(fontName, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(fontName, "B", gobold.TTF)
	pdf.SetLineCapStyle("butt")
	return page{pdf}
}

// glyphs is the font that tells which characters can be printed; the bold one holds the same.
var glyphs = func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic("print: the font in the program is broken: " + err.Error())
	}
	return f
}()

func hasGlyph(r rune) bool {
	// The PDF library looks widths up in a table of 65536 and fails beyond.
	if r > 0xFFFE || unicode.IsControl(r) {
		return false
	}
	i, err := glyphs.GlyphIndex(nil, r)
	return err == nil && i != 0
}

// Unprintable returns the characters of a name that the fonts lack, each once. On paper a mark stands for each of them.
func Unprintable(name string) string {
	var b strings.Builder
	for _, r := range norm.NFC.String(name) {
		if !hasGlyph(r) && !strings.ContainsRune(b.String(), r) {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// printable is s with a box for each character that the fonts lack, on one line.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !hasGlyph(r):
			return '□'
		}
		return r
	}, norm.NFC.String(strings.ToValidUTF8(s, "□")))
}

func (p page) font(style string, points float64, grey int) {
	p.pdf.SetFont(fontName, style, points)
	p.pdf.SetTextColor(grey, grey, grey)
}

// text prints s with its baseline at y; align is where x lies in it: 0 at its
// beginning, 0.5 in the middle, 1 at its end.
func (p page) text(x, y, align float64, s string) {
	s = printable(s)
	p.pdf.Text(x-align*p.pdf.GetStringWidth(s), y, s)
}

// leastPoints is the smallest print of a name, as a smaller one is not read in the garden. Common practice, no source.
const leastPoints = 4.5

// fitting is how large s can be printed within w millimetres: points at most, and no less than a third of it or leastPoints.
func (p page) fitting(w float64, style string, points float64, s string) float64 {
	p.font(style, points, black)
	if width := p.pdf.GetStringWidth(printable(s)); width > w {
		return max(points/3, min(points, leastPoints), math.Floor(10*points*w/width)/10)
	}
	return points
}

// name prints s from x on within w millimetres: as large as it fits and points allows, if need be cut short with "…", a single
// word in its middle. It returns what it printed.
func (p page) name(x, y, w float64, style string, points float64, grey int, s string) string {
	s = printable(s)
	p.font(style, p.fitting(w, style, points, s), grey)
	if runes := []rune(s); p.pdf.GetStringWidth(s) > w {
		room, n := w-p.pdf.GetStringWidth("…"), len(runes)
		end := "" // of a name: plants of one kind differ there
		for at := n - 1; at > 0 && !strings.Contains(s, " ") && p.pdf.GetStringWidth(string(runes[at:])) < room/2; at-- {
			end = string(runes[at:])
		}
		for ; n > 0 && p.pdf.GetStringWidth(string(runes[:n])+end) > room; n-- {
		}
		s = string(runes[:n]) + "…" + end
	}
	p.pdf.Text(x, y, s)
	return s
}

// lines prints text in lines of at most w millimetres, the first baseline at y,
// and returns the baseline after the last.
func (p page) lines(x, y, w, leading, align float64, text string) float64 {
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		flush := func() {
			p.text(x, y, align, line)
			y, line = y+leading, ""
		}
		for _, word := range strings.Fields(paragraph) {
			if line != "" && p.pdf.GetStringWidth(line+" "+word) > w {
				flush()
			}
			line = strings.TrimSpace(line + " " + word)
		}
		flush()
	}
	return y
}

func (p page) pen(width float64, grey int) {
	p.pdf.SetLineWidth(width)
	p.pdf.SetDrawColor(grey, grey, grey)
}

func (p page) line(x0, y0, x1, y1 float64) { p.pdf.Line(x0, y0, x1, y1) }

func (p page) fill(grey int) { p.pdf.SetFillColor(grey, grey, grey) }

// code prints the modules of a QR code; (x, y) is the top left of the dark part, side its width.
func (p page) code(x, y, side float64, rows [][]bool) {
	p.fill(black)
	m := side / float64(len(rows))
	for j, row := range rows {
		for i := 0; i < len(row); i++ {
			n := 0
			for i+n < len(row) && row[i+n] {
				n++
			}
			if n == 0 {
				continue
			}
			h := m
			// Over the seam to a dark neighbour below: viewers that smooth
			// edges leave a hair of white between two that only touch.
			if j+1 < len(rows) && !slices.Contains(rows[j+1][i:i+n], false) {
				h += 0.02
			}
			p.pdf.Rect(x+float64(i)*m, y+float64(j)*m, float64(n)*m, h, "F")
			i += n
		}
	}
}
