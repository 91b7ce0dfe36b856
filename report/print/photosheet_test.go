package print

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg/tag"
)

func sheetPDF(t testing.TB, opt SheetOptions) []byte {
	t.Helper()
	var b bytes.Buffer
	check(t, PhotoSheets(&b, opt))
	return b.Bytes()
}

// TestPhotoSheetsSame holds that the same options give the same bytes, and
// that a page's size is the paper's (ISO 216, from memory; 72 points an inch).
func TestPhotoSheetsSame(t *testing.T) {
	for sheet, box := range map[string]string{"a5": "595.28 419.53", "a4": "841.89 595.28"} {
		opt := SheetOptions{Sheet: sheet, Plants: []SheetPlant{{ID: "M-07", Note: "buff apricot, 2026"}, {ID: "C-05"}},
			Created: time.Date(2026, 7, 4, 9, 30, 0, 0, time.UTC)}
		first := sheetPDF(t, opt)
		for range 5 { // an order that comes from a map shows
			if !bytes.Equal(first, sheetPDF(t, opt)) {
				t.Fatalf("%s: the same sheets differ", sheet)
			}
		}
		if n := bytes.Count(first, []byte("/Type /Page\n")); n != 2 {
			t.Errorf("%s: %d pages, want 2", sheet, n)
		}
		if !bytes.Contains(first, []byte("/MediaBox [0 0 "+box+"]")) {
			t.Errorf("%s: the pages are not %s points", sheet, box)
		}
		if !bytes.Contains(first, []byte("/CreationDate (D:20260704093000")) {
			t.Errorf("%s: not dated as asked", sheet)
		}
	}
	if !bytes.Equal(sheetPDF(t, SheetOptions{}), sheetPDF(t, SheetOptions{Sheet: "a5"})) {
		t.Error("without options it is not the blank A5 sheet")
	}
}

// full is a writer with no room.
type full struct{}

var errFull = errors.New("no room")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestPhotoSheetsErrors(t *testing.T) {
	var b bytes.Buffer
	err := PhotoSheets(&b, SheetOptions{Sheet: "a3"})
	if err == nil || !strings.Contains(err.Error(), `photo sheet "a3": want one of [a5 a4]`) {
		t.Errorf("sheet a3: error %v", err)
	}
	err = PhotoSheets(&b, SheetOptions{Plants: []SheetPlant{{ID: strings.Repeat("long ", 1000)}}})
	if err == nil || !strings.HasPrefix(err.Error(), "photo sheet of ") {
		t.Errorf("an id of 5000 letters: error %v", err)
	}
	if b.Len() > 0 {
		t.Errorf("%d bytes were written before the error", b.Len())
	}
	if err := PhotoSheets(full{}, SheetOptions{}); !errors.Is(err, errFull) {
		t.Errorf("no room: error %v, want %v", err, errFull)
	}
}

func TestUnprintable(t *testing.T) {
	for name, want := range map[string]string{
		"M-07":                "",
		"Hélène żółty":        "",
		"e\u0301":             "", // é in two parts
		"Ωμέγα Жёлтый":        "",
		"花-1花":                "花",
		"\U0001F33C":          "\U0001F33C", // the PDF library itself fails beyond U+FFFF
		"\uFFFF\U00010000a\t": "\uFFFF\U00010000\t",
	} {
		if d := cmp.Diff(want, Unprintable(name)); d != "" {
			t.Errorf("Unprintable(%q) (-want +got):\n%s", name, d)
		}
	}
}

// TestNameFits holds that no name runs out of its room, and that a short one
// is printed as large as it may be.
func TestNameFits(t *testing.T) {
	p := newPage(210, 148, "", time.Time{})
	p.pdf.AddPage()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringN(0, 300, -1).Draw(t, "name")
		w := rapid.Float64Range(5, 150).Draw(t, "room")
		p.font("B", 17, ink)
		whole := p.pdf.GetStringWidth(printable(s))
		shown := p.name(0, 10, w, "B", 17, ink, s)
		size, _ := p.pdf.GetFontSize()
		if got := p.pdf.GetStringWidth(shown); got > w+0.01 {
			t.Fatalf("%q is %.2f mm wide, want ≤ %.2f", shown, got, w)
		}
		if whole <= w && (size != 17 || shown != printable(s)) {
			t.Fatalf("%q is printed as %q at %g points though there is room", s, shown, size)
		}
		if size < 17/3.0-0.01 {
			t.Fatalf("%q is printed at %g points", s, size)
		}
	})
	// Names that are too long for their labels are cut where they are alike.
	one := p.name(0, 10, 30, "B", 17, ink, "Calendula-apricot-seedlings-2026-001")
	if two := p.name(0, 10, 30, "B", 17, ink, "Calendula-apricot-seedlings-2026-002"); one == two || !strings.Contains(one, "…") {
		t.Errorf("two plants are both %q", one)
	}
	check(t, p.pdf.Error())
}

// TestPhotoSheetsAnyName: whatever a plant is called, a PDF or an error.
func TestPhotoSheetsAnyName(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := SheetPlant{ID: rapid.String().Draw(t, "id"), Note: rapid.String().Draw(t, "note")}
		if rapid.Bool().Draw(t, "bytes") {
			p.ID = string(rapid.SliceOf(rapid.Byte()).Draw(t, "raw"))
		}
		var b bytes.Buffer
		err := PhotoSheets(&b, SheetOptions{Sheet: rapid.SampledFrom(tag.SheetNames()).Draw(t, "sheet"), Plants: []SheetPlant{p}})
		if err == nil && !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) {
			t.Fatalf("%q: neither a PDF nor an error", p.ID)
		}
	})
}
