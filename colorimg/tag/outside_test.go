package tag

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
)

// needProgram skips the test when the program is not there; with HUEWARD_FULL=1 that is
// a failure.
func needProgram(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err == nil {
		return
	}
	if os.Getenv("HUEWARD_FULL") == "1" {
		t.Fatalf("this test needs the program %s", name)
	}
	t.Skipf("this test needs the program %s", name)
}

func writePNG(t *testing.T, name string, im image.Image) {
	t.Helper()
	f := must.Have(os.Create(name))(t)
	must.OK(t, png.Encode(f, im))
	must.OK(t, f.Close())
}

var printed = []Payload{
	{Plant: "C-05", MM: 24},
	{Plant: "c-05", MM: 24},
	{Plant: "Ringelblume östlich 7", MM: 30},
	{Plant: "花: 七", MM: 17.5},
	{Sheet: "a5"},
	{Plant: strings.Repeat("long name ", 9), Sheet: "a4", MM: 40},
}

// Our codes are read by another program: zbarimg (Debian package zbar-tools).
func TestPrintedForZBar(t *testing.T) {
	needProgram(t, "zbarimg")
	for _, p := range printed {
		im := must.Have(drawCode(p, 6))(t)
		name := filepath.Join(t.TempDir(), "code.png")
		writePNG(t, name, im)
		out, err := exec.Command("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", name).Output()
		if err != nil {
			t.Fatalf("zbarimg on %q: %v", p, err)
		}
		if got := strings.TrimSuffix(string(out), "\n"); got != p.String() {
			t.Errorf("zbarimg reads %q, want %q", got, p)
		}
	}
}

// Codes of another program are read by us: qrencode (Debian package of that name), at
// its four levels, in a picture.
func TestReadQrencode(t *testing.T) {
	needProgram(t, "qrencode")
	for i, p := range printed {
		for _, level := range []string{"L", "M", "Q", "H"} {
			name := filepath.Join(t.TempDir(), "code.png")
			if out, err := exec.Command("qrencode", "-8", "-l", level, "-s", "5", "-o", name, p.String()).CombinedOutput(); err != nil {
				t.Fatalf("qrencode: %v: %s", err, out)
			}
			f := must.Have(os.Open(name))(t)
			code, err := png.Decode(f)
			f.Close()
			if err != nil {
				t.Fatal(err)
			}
			im := ground(grounds[i%4], 800, 600, 2)
			at := image.Rectangle{Max: code.Bounds().Size()}.Add(image.Pt(150, 100))
			draw.Draw(im, at, code, code.Bounds().Min, draw.Src)
			tags := read(lightness(im))
			if len(tags) != 1 || tags[0].Text != p.String() {
				t.Errorf("level %s: read %+v, want %q", level, tags, p)
				continue
			}
			// qrencode's margin is 4 modules, as its manual says.
			want := [2]float64{float64(at.Min.X+20) - 0.5, float64(at.Min.Y+20) - 0.5}
			if got := tags[0].Corners[0]; max(got[0]-want[0], want[0]-got[0], got[1]-want[1], want[1]-got[1]) > 0.3 {
				t.Errorf("level %s: top left at %.2f, want %.2f ± 0.3", level, got, want)
			}
		}
	}
}

// What cannot be printed is said, not printed.
func TestMatrixRefuses(t *testing.T) {
	for name, text := range map[string]string{"empty": "", "not UTF-8": "HUEWARD:24:\xff", "too long": strings.Repeat("x", 4000)} {
		if m, err := Matrix(text); err == nil {
			t.Errorf("%s: Matrix gives %d rows, want an error", name, len(m))
		}
	}
}

// Short names fit the smallest code (21 modules; ISO/IEC 18004, from memory: 20
// letters of the small alphabet at level M), at a level above M where that fits.
func TestMatrixSize(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
	}{
		{"HUEWARD:24:C-05", 21},
		{"HUEWARD:24:BED 3/12", 21},
		{"HUEWARD:24:c-05", 25},
		{"HUEWARD:A5:", 21},
	} {
		m, err := Matrix(c.text)
		if err != nil || len(m) != c.want || len(m[0]) != c.want {
			t.Errorf("Matrix(%q) has %d rows, %v, want %d", c.text, len(m), err, c.want)
		}
	}
	im := must.Have(drawCode(Payload{Plant: "C-05", MM: 24}, 2))(t)
	if im.Rect != image.Rect(0, 0, 58, 58) || im.GrayAt(7, 7) != (color.Gray{Y: 255}) || im.GrayAt(8, 8) != (color.Gray{}) {
		t.Errorf("Draw gives %v with %v, %v, want 58 × 58, a white margin of 8 and a dark corner", im.Rect, im.GrayAt(7, 7),
			im.GrayAt(8, 8))
	}
}
