package photo

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// transicc is what Little CMS makes of stored colours, one a row, by the profile,
// with the relative colorimetric intent: Lab under D50.
func transicc(t *testing.T, profile []byte, rows [][]float64) []cie.Lab {
	t.Helper()
	needProgram(t, "transicc")
	file := filepath.Join(t.TempDir(), "p.icc")
	must.OK(t, os.WriteFile(file, profile, 0o600))
	var in strings.Builder
	for _, r := range rows {
		for _, v := range r {
			fmt.Fprintf(&in, "%g ", v*255)
		}
		in.WriteString("\n")
	}
	cmd := exec.Command("transicc", "-n", "-t1", "-i", file, "-o*XYZ")
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("transicc: %v", err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(rows) {
		t.Fatalf("transicc gave %d lines, want %d", len(lines), len(rows))
	}
	labs := make([]cie.Lab, len(rows))
	for i, l := range lines {
		var x, y, z float64
		if _, err := fmt.Sscan(l, &x, &y, &z); err != nil {
			t.Fatalf("transicc line %q: %v", l, err)
		}
		labs[i] = cie.XYZ{X: x / 100, Y: y / 100, Z: z / 100}.LabUnder(cie.D50)
	}
	return labs
}

// likeTransicc compares our own reading of stored colours with Little CMS's: each may differ by a Delta E 2000 of 0.3,
// their mean by so much.
func (e *encoding) likeTransicc(t *testing.T, name string, profile []byte, colors [][3]float64, mean float64) {
	t.Helper()
	var rows [][]float64
	for _, c := range colors {
		if string(profile[16:20]) == "GRAY" {
			rows = append(rows, c[:1])
		} else {
			rows = append(rows, slices.Clone(c[:]))
		}
	}
	worst, sum := 0.0, 0.0
	for i, want := range transicc(t, profile, rows) {
		c := colors[i]
		got := cie.Adapt(cie.SRGB.XYZ(e.linear(c[0], c[1], c[2])), cie.D65, cie.D50).LabUnder(cie.D50)
		d := cie.DeltaE2000(got, want)
		sum, worst = sum+d, max(worst, d)
		if !(d < 0.3) {
			t.Errorf("%s %v is read as %.2f, Little CMS has %.2f: ΔE00 %.3f, want at most 0.3", name, c, got, want, d)
		}
	}
	sum /= float64(len(colors))
	t.Logf("%-40s %-30s mean ΔE00 to Little CMS %.4f, worst %.4f over %d colours", name, e.name, sum, worst, len(colors))
	if !(sum < mean) {
		t.Errorf("%s: mean ΔE00 %.4f to Little CMS, want at most %g", name, sum, mean)
	}
}

// TestNamedTransicc: the profiles of real files in the four usual spaces, over a
// grid of 9 × 9 × 9 colours. TestProfilesTransicc has many more profiles.
func TestNamedTransicc(t *testing.T) {
	needProgram(t, "transicc")
	dir := filepath.Join(moduleDir(t, "github.com/kovidgoyal/imaging"), "prism/test-images")
	for _, c := range []struct{ file, name string }{
		{"pizza-rgb8-srgb.jpg", "sRGB"},
		{"pizza-rgb8-displayp3.jpg", "Display P3"},
		{"pizza-rgb8-adobergb.jpg", "Adobe RGB (1998)"},
		{"pizza-rgb8-prophotorgb.jpg", "ProPhoto RGB"},
	} {
		b, err := os.ReadFile(filepath.Join(dir, c.file))
		need(t, err == nil, c.file)
		icc := jpegFacts(b).icc
		e, err := profileEncoding(icc, false)
		if err != nil || e.name != c.name {
			t.Errorf("%s: %v, %+v, want %s", c.file, err, e, c.name)
			continue
		}
		e.likeTransicc(t, c.file, icc, colorGrid(9), 0.3)
	}
}

// TestGrayTransicc: grey profiles, curves and tables, v2 and v4.
func TestGrayTransicc(t *testing.T) {
	needProgram(t, "transicc")
	n := 0
	for name, data := range fixtures(t) {
		if !strings.HasPrefix(name, "gray") {
			continue
		}
		e, err := profileEncoding(data, true)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var steps [][3]float64
		for k := range 52 {
			v := float64(5*k) / 255
			steps = append(steps, [3]float64{v, v, v})
		}
		n++
		e.likeTransicc(t, name, data, steps, 0.3)
	}
	if n < 6 {
		t.Errorf("compared %d grey profiles, want 6", n)
	}
}

// TestProfileBytes: whatever one byte of a profile is changed to, colours come
// out as before or the profile is called damaged, for the spaces that phones
// write. Of a profile that bears no common name nothing tells a changed number,
// but for those that no profile can have.
func TestProfileBytes(t *testing.T) {
	adobe := bytes.Clone(p3Profile)
	at := bytes.Index(adobe, []byte("\x00D\x00i\x00s\x00p\x00l\x00a\x00y")) // any other name
	copy(adobe[at:], "\x00A\x00n\x00o\x00t\x00h\x00e\x00r")
	grid := colorGrid(5)
	for _, c := range []struct {
		name  string
		data  []byte
		named bool
	}{{"sRGB", srgbProfile, true}, {"Display P3", p3Profile, true}, {"another", adobe, false}} {
		sound := must.Have(profileEncoding(c.data, false))(t)
		want := make([]cie.Lab, len(grid))
		for i, g := range grid {
			want[i] = sound.lab(g[0], g[1], g[2])
		}
		refused, wrong, same := 0, 0, 0
		for n := range c.data {
			for _, v := range []byte{c.data[n] ^ 1, c.data[n] ^ 0x10, c.data[n] ^ 0x80, 0, 0xff} {
				b := bytes.Clone(c.data)
				b[n] = v
				e, err := profileEncoding(b, false)
				if err != nil {
					refused++
					continue
				}
				worst := 0.0
				for i, g := range grid {
					d := cie.DeltaE2000(want[i], e.lab(g[0], g[1], g[2]))
					if !(d <= worst) {
						worst = d
					}
				}
				if worst < 1.5 { // a name allows half an 8-bit step, which is that much near black
					same++
					continue
				}
				wrong++
				if c.named {
					t.Errorf("%s: byte %d as %#x moves colours by ΔE00 %.2f without a word", c.name, n, v, worst)
				}
			}
		}
		t.Logf("%s: %d changes refused, %d without effect, %d unseen", c.name, refused, same, wrong)
		if refused < 100 || same < 100 {
			t.Errorf("%s: %d changes refused and %d without effect, want 100 of each or more", c.name, refused, same)
		}
	}
}
