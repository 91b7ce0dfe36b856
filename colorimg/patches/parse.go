package patches

import (
	"errors"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"hueward/colorimg/cie"
)

// Parse reads a set of patches from CGATS.17 text, which IT8.7/2, .cie, .ti2 and .ti3 files are too. Of its fields it
// takes LAB_L, LAB_A and LAB_B, or XYZ_X, XYZ_Y and XYZ_Z; and SAMPLE_LOC, SAMPLE_ID or SAMPLE_NAME. RGB_R, RGB_G and
// RGB_B are what a machine was asked to print, not a colour, and do not count.
//
// Light: Lab and XYZ are taken to stand under D50, as CGATS has it, unless the file says ILLUMINANT, ILLUMINATION_NAME
// or WEIGHTING_FUNCTION "ILLUMINANT, …" D65. Where it says nothing and gives XYZ, the lightest patch tells: it is
// hardly coloured under the right one. The 10 degree observer is refused.
//
// Layout, the first of these that the file gives:
//
//   - fields SAMPLE_ROW and SAMPLE_COLUMN, whole numbers from 1;
//   - keywords HUEWARD_ROWS and HUEWARD_COLUMNS (declared as KEYWORD
//     "HUEWARD_ROWS"), the patches then in reading order, row by row;
//   - patches named A1, A2, … B1, …: the letters are the rows, the digits the
//     columns, or the other way round ([Set.FromIDs]).
//
// HUEWARD_GAP is the space between two patches as a share of a patch's width;
// 0.12 where it is not given.
//
// An error that lies in the text is a [*SyntaxError] with its line.
func Parse(r io.Reader) (*Set, error) {
	t, err := readTable(r)
	if err != nil {
		return nil, err
	}
	s := &Set{Name: plain(t.keywords["DESCRIPTOR"].value), Gap: defaultGap}
	if s.Name == "" {
		s.Name = plain(t.keywords["FILE_DESCRIPTOR"].value)
	}
	if len(s.Name) > maxName {
		return nil, at(t.keywords["DESCRIPTOR"].line, "the set's name is longer than %d letters", maxName)
	}
	colors, err := t.colors()
	if err != nil {
		return nil, err
	}
	s.Patches = make([]Patch, len(t.rows))
	for i, c := range colors {
		l := c.Lab()
		s.Patches[i] = Patch{Ref: c, Neutral: math.Hypot(l.A, l.B) < neutralChroma}
	}
	if err := s.layOut(t); err != nil {
		return nil, err
	}
	return s, nil
}

// Open reads the file as [Parse] does; a [*SyntaxError] then names the file.
func Open(file string) (*Set, error) {
	// A pipe would wait for its writer when it is opened.
	if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		return nil, &os.PathError{Op: "open", Path: file, Err: errors.New("it is not an ordinary file")}
	}
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s, err := Parse(f)
	var e *SyntaxError
	if errors.As(err, &e) {
		e.File = file
	}
	return s, err
}

// colors are the patches' colours under D65.
func (t *table) colors() ([]cie.XYZ, error) {
	lab, xyz := t.has("LAB_L", "LAB_A", "LAB_B"), t.has("XYZ_X", "XYZ_Y", "XYZ_Z")
	var labs, xyzs [][3]float64
	var err error
	if lab {
		if labs, err = t.triples("LAB_L", "LAB_A", "LAB_B"); err != nil {
			return nil, err
		}
	}
	if xyz {
		if xyzs, err = t.triples("XYZ_X", "XYZ_Y", "XYZ_Z"); err != nil {
			return nil, err
		}
		toUnit(xyzs)
	}
	white, err := t.white(xyzs)
	if err != nil {
		return nil, err
	}
	out := make([]cie.XYZ, len(t.rows))
	for i := range out {
		var c cie.XYZ
		if lab {
			c = cie.Lab{L: labs[i][0], A: labs[i][1], B: labs[i][2]}.XYZ()
			c = cie.XYZ{X: c.X * white.X / cie.D65.X, Y: c.Y, Z: c.Z * white.Z / cie.D65.Z}
		} else {
			c = cie.XYZ{X: xyzs[i][0], Y: xyzs[i][1], Z: xyzs[i][2]}
		}
		c = cie.Adapt(c, white, cie.D65)
		l := c.Lab()
		if !(l.L >= -1e-6 && l.L <= 105+1e-6 && math.Abs(l.A) <= 200+1e-6 && math.Abs(l.B) <= 200+1e-6) {
			return nil, at(t.rows[i].line, "no surface has this colour: L* %.4g, a* %.4g, b* %.4g", l.L, l.A, l.B)
		}
		out[i] = c
	}
	return out, nil
}

// triples reads three fields of every row.
func (t *table) triples(names ...string) ([][3]float64, error) {
	out := make([][3]float64, len(t.rows))
	for i, r := range t.rows {
		for k, name := range names {
			s := r.values[t.fields[name]]
			v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
			// ParseFloat also takes "nan", "inf" and hexadecimal.
			if err != nil || strings.ContainsAny(s, "nNxX_") || math.Abs(v) > 1e4 {
				return nil, at(r.line, "%s %s is not a number of a colour", name, quote(s))
			}
			out[i][k] = v
		}
	}
	return out, nil
}

// toUnit brings XYZ to Y = 1 for white. Files count to 100, some to 1: then no
// patch is above 1.2, and a set without one patch lighter than 1.2 % is none.
func toUnit(xyz [][3]float64) {
	most := 0.0
	for _, c := range xyz {
		most = max(most, c[1])
	}
	if most <= 1.2 {
		return
	}
	for i := range xyz {
		for k := range 3 {
			xyz[i][k] /= 100
		}
	}
}

var (
	illuminantName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?i)\b(D ?[0-9]{2,4}|A|B|C|E|F ?[0-9]{1,2})\b`) })
	observerAngle  = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\b(10|2)\b`) })
)

// white is the light that the colours are given under; xyz are those of the
// file in units of 1, nil when it gives only Lab.
func (t *table) white(xyz [][3]float64) (cie.White, error) {
	for _, key := range []string{"OBSERVER", "OBSERVER_ANGLE", "WEIGHTING_FUNCTION OBSERVER"} {
		if e, ok := t.keywords[key]; ok && observerAngle().FindString(e.value) == "10" {
			return cie.White{}, at(e.line, "colours for the 10 degree observer; want those for 2 degrees")
		}
	}
	for _, key := range []string{"ILLUMINANT", "ILLUMINATION_NAME", "WEIGHTING_FUNCTION ILLUMINANT"} {
		e, ok := t.keywords[key]
		if !ok {
			continue
		}
		value := e.value
		if strings.HasPrefix(key, "WEIGHTING") {
			value = value[min(len(value), len("ILLUMINANT")):]
		}
		switch name := strings.ToUpper(strings.ReplaceAll(illuminantName().FindString(value), " ", "")); name {
		case "D50", "D5000":
			return cie.D50, nil
		case "D65", "D6500":
			return cie.D65, nil
		default:
			return cie.White{}, at(e.line, "colours under %s; want them under D50 or D65", quote(e.value))
		}
	}
	lightest := -1
	for i, c := range xyz {
		if lightest < 0 || c[1] > xyz[lightest][1] {
			lightest = i
		}
	}
	if lightest >= 0 {
		c := cie.XYZ{X: xyz[lightest][0], Y: xyz[lightest][1], Z: xyz[lightest][2]}
		chroma := func(w cie.White) float64 { return c.LabUnder(w).LCh().C }
		if a, b := chroma(cie.D65), chroma(cie.D50); a < b && a < 12 {
			return cie.D65, nil
		}
	}
	return cie.D50, nil
}
