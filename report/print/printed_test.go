package print

import (
	"fmt"
	"image"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/photo"
	"hueward/colorimg/tag"
)

// needProgram skips the test without a program, or fails it where everything
// must be tried.
func needProgram(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatalf("%s is needed", name)
		}
		t.Skipf("%s is not here", name)
	}
}

const plantName = "Hélène-Ж.07"

// printed is the first page of a sheet, drawn at so many dots an inch.
func printed(t *testing.T, sheet string, dpi int) (pgm string) {
	t.Helper()
	return drawnPage(t, sheetPDF(t, SheetOptions{Sheet: sheet, Plants: []SheetPlant{{ID: plantName, Note: "buff apricot, 2026"}}}), dpi)
}

// drawnPage is a grey picture of a PDF's first page by Poppler's pdftoppm, beside sheet.pdf. To pack it as PNG takes ten
// times as long.
func drawnPage(t *testing.T, pdf []byte, dpi int) (pgm string) {
	t.Helper()
	needProgram(t, "pdftoppm")
	dir := t.TempDir()
	name, page := filepath.Join(dir, "sheet.pdf"), filepath.Join(dir, "page")
	check(t, os.WriteFile(name, pdf, 0o666))
	b, err := exec.Command("pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-singlefile", name, page).CombinedOutput()
	if err != nil || len(b) > 0 {
		t.Fatalf("pdftoppm: %v\n%s", err, b)
	}
	return page + ".pgm"
}

// TestPrintedCode holds that another reader (zbarimg of ZBar) reads the code
// off the page, and pdftotext the name.
func TestPrintedCode(t *testing.T) {
	needProgram(t, "zbarimg")
	needProgram(t, "pdftotext")
	for _, sheet := range tag.SheetNames() {
		name := printed(t, sheet, 100)
		out, err := exec.Command("zbarimg", "-q", "--raw", name).Output()
		if err != nil {
			t.Fatalf("%s: zbarimg: %v", sheet, err)
		}
		got, ok := tag.Parse(strings.TrimSuffix(string(out), "\n"))
		if want := (tag.Payload{Plant: plantName, Sheet: sheet}); !ok || got != want {
			t.Errorf("%s: zbarimg reads %q: %+v, want %+v", sheet, out, got, want)
		}
		text, err := exec.Command("pdftotext", filepath.Join(filepath.Dir(name), "sheet.pdf"), "-").Output()
		if err != nil {
			t.Fatalf("%s: pdftotext: %v", sheet, err)
		}
		for _, want := range []string{plantName, "buff apricot, 2026", "lay the grey card here", "face up"} {
			if !strings.Contains(string(text), want) {
				t.Errorf("%s: the page does not say %q:\n%s", sheet, want, text)
			}
		}
	}
}

// TestPrintedPlaces holds that all is printed where tag.Sheet says: the page,
// drawn by another program at 254 dots an inch, is a photo of 10 pixels a
// millimetre.
func TestPrintedPlaces(t *testing.T) {
	const scale = 10.0
	for _, sheet := range tag.SheetNames() {
		s, _ := tag.SheetNamed(sheet)
		im := readGray(t, printed(t, sheet, 254))
		if w, h := float64(im.Rect.Dx()), float64(im.Rect.Dy()); math.Abs(w-scale*s.Width) > 1 || math.Abs(h-scale*s.Height) > 1 {
			t.Fatalf("%s: the page is %g × %g tenths of a millimetre, want %g × %g", sheet, w, h, scale*s.Width, scale*s.Height)
		}
		dark := func(x, y float64) bool { return im.GrayAt(int(scale*x), int(scale*y)).Y < 128 }
		at := func(x, y float64, want bool, what string) {
			t.Helper()
			if dark(x, y) != want {
				t.Errorf("%s: %s: dark is %v at %.1f, %.1f mm, want %v", sheet, what, !want, x, y, want)
			}
		}
		for _, m := range s.Marks {
			at(m[0], m[1], false, "hole of a mark")
			at(m[0]+s.HoleR+0.2, m[1], true, "mark, inside")
			at(m[0]+s.MarkR-0.2, m[1], true, "mark")
			at(m[0], m[1]-s.MarkR-0.2, false, "around a mark")
		}
		c := s.Code // three of its corners are dark to the very edge
		at(c.X+0.2, c.Y+0.2, true, "code, top left")
		at(c.X-0.2, c.Y+0.2, false, "left of the code")
		at(c.X+c.W-0.2, c.Y+0.2, true, "code, top right")
		at(c.X+c.W+0.2, c.Y+0.2, false, "right of the code")
		at(c.X+0.2, c.Y+c.H-0.2, true, "code, bottom left")
		rows, err := tag.Matrix(tag.Payload{Plant: plantName, Sheet: sheet}.String())
		check(t, err)
		margin := tag.Quiet * c.W / float64(len(rows))
		for mm := 0.3; mm < margin; mm += 0.3 {
			at(c.X+c.W/2, c.Y-mm, false, "quiet margin above")
			at(c.X+c.W/2, c.Y+c.H+mm, false, "quiet margin below")
			at(c.X-mm, c.Y+c.H/2, false, "quiet margin left")
			at(c.X+c.W+mm, c.Y+c.H/2, false, "quiet margin right")
		}
		for _, q := range s.Card.Corners() { // nothing dark under the card's edge
			for k := -0.3; k <= 0.3; k += 0.1 {
				at(q[0]+k, q[1], false, "corner of the card")
			}
		}

		corners := s.Code.Corners()
		for i, q := range corners { // pixel centres are whole numbers
			corners[i] = [2]float64{scale*q[0] - 0.5, scale*q[1] - 0.5}
		}
		luma := tag.PhotoLuma(&photo.Lightness{Pix: im.Pix, DX: 1, DY: im.Stride, W: im.Rect.Dx(), H: im.Rect.Dy()})
		l, ok := s.Refine(luma, corners)
		if !ok || l.Marks != 4 {
			t.Fatalf("%s: %d marks are found on the page, want 4", sheet, l.Marks)
		}
		card := l.Card()
		for i, q := range s.Card.Corners() {
			if d := math.Hypot(card[i][0]+0.5-scale*q[0], card[i][1]+0.5-scale*q[1]) / scale; d > 0.1 {
				t.Errorf("%s: card corner %d is located %.2f mm off, want ≤ 0.1", sheet, i, d)
			}
		}
		if got := l.PixelsPerMM(); math.Abs(got-scale) > 0.01 {
			t.Errorf("%s: %.3f pixels a millimetre, want 10 ± 0.01", sheet, got)
		}
		if !l.CardMissing(luma) {
			t.Errorf("%s: a card is seen on the bare page", sheet)
		}
	}
}

// readGray reads a PGM file.
func readGray(t *testing.T, name string) *image.Gray {
	t.Helper()
	b, err := os.ReadFile(name)
	check(t, err)
	var w, h int
	if _, err := fmt.Sscanf(string(b[:min(len(b), 40)]), "P5\n%d %d\n255\n", &w, &h); err != nil || len(b) < w*h {
		t.Fatalf("%s: no grey picture of 8 bits: %v", name, err)
	}
	return &image.Gray{Pix: b[len(b)-w*h:], Stride: w, Rect: image.Rect(0, 0, w, h)}
}
