package book_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg"
	"hueward/selection/book/pathdata"
)

func TestPathText(t *testing.T) {
	t.Parallel()
	square := []colorimg.Point{{367.5, 167.5}, {383.5, 167.5}, {383.5, 169.5}, {386.5, 168}, {386.4, 168}}
	for _, c := range []struct {
		name    string
		outline [][]colorimg.Point
		want    string
	}{
		{"steps", [][]colorimg.Point{square}, `"M367.5 167.5h16v2l3 -1.5h-0.1z"`},
		{"a hole", [][]colorimg.Point{square[:2], {{-0.5, 12}}}, `"M367.5 167.5h16zM-0.5 12z"`},
		{"hundredths", [][]colorimg.Point{{{1.25, 2}, {3, 4}}}, `[[[1.25,2],[3,4]]]`},
		{"far away", [][]colorimg.Point{{{1e300, 2}, {3, 4}}}, `[[[1e+300,2],[3,4]]]`},
		{"below nothing", [][]colorimg.Point{{{math.Copysign(0, -1), 2}}}, `[[[-0,2]]]`},
		{"an empty one", [][]colorimg.Point{{}, square}, `[[],[[367.5,167.5],[383.5,167.5],[383.5,169.5],[386.5,168],[386.4,168]]]`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := pathdata.Text(c.outline)
			if got != c.want {
				t.Errorf("Text = %s, want %s", got, c.want)
			}
			back, err := pathdata.Parse(got)
			if d := cmp.Diff(c.outline, back); err != nil || d != "" {
				t.Errorf("Parse = %v (-want +got):\n%s", err, d)
			}
		})
	}
	for _, bad := range []string{"", `""x`, `"`, `"M1 2"`, `"M1 2zz"`, `"z"`, `"h1z"`, `"M1z"`, `"M1 z"`, `"M1 2L3 4z"`, `"M1 2l3z"`,
		`"M1,2z"`, `"M1 2h1.z"`, `"M1 2h.5z"`, `"M1 2h--1z"`, `"M1 2M3 4z"`, `"M1 2h10000000000z"`, `"M1 2h1.25z"`, `[[["x",1]]]`, "{}"} {
		got, err := pathdata.Parse(bad)
		if err == nil {
			t.Errorf("Parse(%s) = %v, want an error", bad, got)
		}
		if pathdata.Check(bad) == nil {
			t.Errorf("Check(%s) finds no fault", bad)
		}
	}
}

// outlines are rings of points around a bloom.
func outlines(t *rapid.T) (out [][]colorimg.Point) {
	coordinate := rapid.Map(rapid.IntRange(-500, 90_000), func(i int) float64 { return float64(i) / 10 })
	point := rapid.Custom(func(t *rapid.T) colorimg.Point {
		return colorimg.Point{coordinate.Draw(t, "x"), coordinate.Draw(t, "y")}
	})
	return rapid.SliceOfN(rapid.SliceOfN(point, 1, 9), 1, 4).Draw(t, "outline")
}

// What is kept is a path to another reader of SVG, with the same points.
//
// Source: fpdf, SVGBasicParse.
func TestOutlineIsSVG(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		want := outlines(t)
		path := strings.Trim(pathdata.Text(want), `"`)
		svg, err := fpdf.SVGBasicParse(fmt.Appendf(nil, `<svg width="9000pt" height="9000pt"><path d="%s"/></svg>`, path))
		if err != nil || len(svg.Paths) != 1 {
			t.Fatalf("%s: %d paths, %v, want 1", path, len(svg.Paths), err)
		}
		var got [][]colorimg.Point
		var at colorimg.Point
		for _, s := range svg.Paths[0].Segments {
			switch s.Cmd {
			case 'M':
				got = append(got, nil)
				at = colorimg.Point{s.Arg[0], s.Arg[1]}
			case 'L':
				at = colorimg.Point{s.Arg[0], s.Arg[1]}
			case 'H':
				at[0] = s.Arg[0]
			case 'V':
				at[1] = s.Arg[0]
			case 'Z':
				continue
			}
			got[len(got)-1] = append(got[len(got)-1], at)
		}
		// Sums of tenths are not exact there.
		if d := cmp.Diff(want, got, cmp.Comparer(func(x, y float64) bool { return math.Abs(x-y) < 1e-6 })); d != "" {
			t.Fatalf("%s (-kept +read):\n%s", path, d)
		}
	})
}

// Any text is either an outline that is kept as it is, or refused; checking and
// reading agree.
func FuzzOutline(f *testing.F) {
	f.Add(`"M367.5 167.5h16v2l3 -1.5zM-0.5 12z"`)
	f.Add(`[[[1.25,2],[3,4]],[]]`)
	f.Add("null")
	f.Fuzz(func(t *testing.T, s string) {
		o, err := pathdata.Parse(s)
		if checked := pathdata.Check(s); (checked == nil) != (err == nil) {
			t.Fatalf("%q: Check %v, Parse %v", s, checked, err)
		}
		if err != nil {
			return
		}
		back, err := pathdata.Parse(pathdata.Text(o))
		if d := cmp.Diff(o, back); err != nil || d != "" {
			t.Fatalf("%q, kept as %s: %v (-want +got):\n%s", s, pathdata.Text(o), err, d)
		}
	})
}
