package patches

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// publicFile is a file of Debian's package argyll-ref, with charts' colours as
// measured by others.
func publicFile(t testing.TB, name string) string {
	t.Helper()
	file := filepath.Join("/usr/share/color/argyll/ref", name)
	if _, err := os.Stat(file); err != nil {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal(err, "(install argyll-ref)")
		}
		t.Skip("needs Debian's package argyll-ref")
	}
	return file
}

// Files in the wild open, whoever wrote them.
func TestParsePublic(t *testing.T) {
	for _, k := range []struct {
		name                   string
		patches, rows, columns int
	}{
		{"ColorChecker.cie", 24, 4, 6},
		{"ColorChecker.ti2", 24, 4, 6},
		{"SpyderChecker24.cie", 24, 4, 6},
		{"SpyderChecker.cie", 48, 8, 6},
		{"QPcard_201.cie", 30, 3, 10},
		{"QPcard_202.cie", 35, 5, 7},
		{"ColorCheckerSG.ti2", 140, 14, 10},
		{"CMP_Digital_Target-4.cie", 570, 30, 19},
		{"ECI2002R.ti2", 1485, 47, 33}, // A to Z, then 2A to 2U
	} {
		s, err := Open(publicFile(t, k.name))
		if err != nil {
			t.Error(err)
			continue
		}
		if len(s.Patches) != k.patches || s.Rows != k.rows || s.Cols != k.columns {
			t.Errorf("%s: %d patches, %d × %d, want %d, %d × %d", k.name, len(s.Patches), s.Rows, s.Cols, k.patches, k.rows, k.columns)
		}
		sound(t, s)
	}
}

// QPcard_202.cie gives every patch in XYZ and in Lab, both under D50, worked out
// by another program: what is read from the one is what is read from the other.
func TestParseLabAgainstXYZ(t *testing.T) {
	b := must.Have(os.ReadFile(publicFile(t, "QPcard_202.cie")))(t)
	lab := must.Have(Parse(bytes.NewReader(b)))(t)
	xyz := must.Have(Parse(bytes.NewReader(bytes.ReplaceAll(b, []byte("LAB_"), []byte("NO_")))))(t)
	for i, p := range lab.Patches {
		q := xyz.Patches[i]
		for k, d := range [3]float64{p.Ref.X - q.Ref.X, p.Ref.Y - q.Ref.Y, p.Ref.Z - q.Ref.Z} {
			if math.Abs(d) > 1e-5 {
				t.Errorf("patch %s: %c from Lab differs by %.6f, want 0 ± 0.00001", p.ID, 'X'+rune(k), d)
			}
		}
	}
}

// SpyderChecker24.cie says "(D65)" in its description alone, and gives XYZ: its
// greys are grey only under D65.
func TestParseLightFromWhite(t *testing.T) {
	s := must.Have(Open(publicFile(t, "SpyderChecker24.cie")))(t)
	for _, p := range s.Patches[:6] { // A1 to A6, white to black
		if c := p.Ref.Lab().LCh().C; c > 3 {
			t.Errorf("grey %s has chroma %.2f, want less than 3", p.ID, c)
		}
	}
	want := cie.XYZ{X: 0.85, Y: 0.8931, Z: 0.9633} // line of A1
	if got := s.Patches[0].Ref; cie.DeltaE2000(got.Lab(), want.Lab()) > 1e-9 {
		t.Errorf("A1 = %v, want %v as the file has it", got, want)
	}
}
