package cie

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"hueward/colorimg/must"
)

// gridRow is one row of testdata/grid.csv: colorjs.io's and culori's conversion
// of one colour. See testdata/grid.mjs.
type gridRow struct {
	space     string
	rgb       RGB // encoded
	xyz       XYZ
	lab       Lab
	lch       LCh
	hasHue    bool
	lab50     Lab
	dE        float64
	hasBefore bool
	iscc      int // number of the nearest ISCC-NBS centroid
}

func readGrid(tb testing.TB) []gridRow {
	tb.Helper()
	f := must.Have(os.Open("testdata/grid.csv"))(tb)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines := must.Have(r.ReadAll())(tb)
	var rows []gridRow
	for _, l := range lines[1:] { // after the names of the columns
		v := make([]float64, len(l))
		for i := 1; i < len(l); i++ {
			if l[i] == "" {
				continue
			}
			v[i] = must.Have(strconv.ParseFloat(l[i], 64))(tb)
		}
		rows = append(rows, gridRow{
			space: l[0], rgb: RGB{v[1], v[2], v[3]}, xyz: XYZ{v[4], v[5], v[6]},
			lab: Lab{v[7], v[8], v[9]}, lch: LCh{v[7], v[10], v[11]}, hasHue: l[11] != "",
			lab50: Lab{v[12], v[13], v[14]}, dE: v[15], hasBefore: l[15] != "",
			iscc: int(v[16]),
		})
	}
	if len(rows) < 250 {
		tb.Fatalf("grid.csv has %d rows, want 250 at least", len(rows))
	}
	return rows
}

// The libraries' whites: chromaticities 0.3127, 0.3290 and 0.3457, 0.3585.
var (
	gridD65 = White(fromXY(0.3127, 0.3290))
	gridD50 = White(fromXY(0.3457, 0.3585))
)

// With the libraries' white in place of the table's, every step agrees to the
// digits printed: XYZ has seven, Lab, C and Delta E five, hue four.
func TestGrid(t *testing.T) {
	spaces := map[string]Space{
		"srgb": newSpace("", srgbPrimaries, gridD65),
		"p3":   newSpace("", p3Primaries, gridD65),
	}
	var before Lab
	for _, k := range readGrid(t) {
		x := spaces[k.space].XYZ(RGB{Linear(k.rgb[0]), Linear(k.rgb[1]), Linear(k.rgb[2])})
		if !nearXYZ(x, k.xyz, 1e-7) {
			t.Errorf("%s %v: XYZ = %.7f, want %.7f ± 1e-7", k.space, k.rgb, x, k.xyz)
		}
		lab := x.LabUnder(gridD65)
		if !nearLab(lab, k.lab, 1e-5) {
			t.Errorf("%s %v: Lab = %.5f, want %.5f ± 1e-5", k.space, k.rgb, lab, k.lab)
		}
		lch := lab.LCh()
		// A hue turns faster the less chroma there is; grid.mjs leaves it out at 0.
		if !near(lch.C, k.lch.C, 1e-5) || k.hasHue && !near(lch.H, k.lch.H, 1e-4+6e-4/lch.C) {
			t.Errorf("%s %v: LCh = %.5f, want %.5f", k.space, k.rgb, lch, k.lch)
		}
		// Their matrix to D50 is printed in full; its inputs are rounded a little
		// differently, which colours far outside sRGB magnify.
		if got := Adapt(x, gridD65, gridD50).LabUnder(gridD50); !nearLab(got, k.lab50, 1e-4) {
			t.Errorf("%s %v: Lab under D50 = %.5f, want %.5f ± 1e-4", k.space, k.rgb, got, k.lab50)
		}
		if got := DeltaE2000(before, lab); k.hasBefore && !near(got, k.dE, 1e-5) {
			t.Errorf("%s %v: DeltaE2000 from the row before = %.5f, want %.5f ± 1e-5", k.space, k.rgb, got, k.dE)
		}
		before = lab
	}
}

// With the table's D65, as the program measures: XYZ moves with the white, by up
// to 2.3e-4 of Z, while Lab, which is relative to the white, hardly does. The
// nearest name does not either.
func TestGridTableWhite(t *testing.T) {
	spaces := map[string]Space{"srgb": SRGB, "p3": DisplayP3}
	worst, diff := 0.0, 0.0
	for _, k := range readGrid(t) {
		x := spaces[k.space].XYZ(RGB{Linear(k.rgb[0]), Linear(k.rgb[1]), Linear(k.rgb[2])})
		if !nearXYZ(x, k.xyz, 3e-4) {
			t.Errorf("%s %v: XYZ = %.5f, want %.5f ± 3e-4", k.space, k.rgb, x, k.xyz)
		}
		c := x.Lab()
		d := DeltaE2000(c, k.lab)
		worst = max(worst, d)
		if d > 0.01 || !nearLab(c, k.lab, 0.02) {
			t.Errorf("%s %v: Lab = %.4f, want %.4f ± 0.02 and within Delta E 2000 of 0.01; is %.4f", k.space, k.rgb, c, k.lab, d)
		}
		if got, want := Name(c), centroids()[k.iscc-1].name; got != want {
			t.Errorf("%s %v: Name(%.2f) = %q, culori's nearest is %q", k.space, k.rgb, c, got, want)
		}
		diff = max(diff, math.Abs(c.L-k.lab.L), math.Abs(c.A-k.lab.A), math.Abs(c.B-k.lab.B))
	}
	t.Logf("largest DeltaE2000 from the difference of whites: %.4f; of one of L*, a*, b*: %.4f", worst, diff)
}
