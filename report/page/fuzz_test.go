package page

import (
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// Points that come from a form are numbers, as many as there are words.
func FuzzParsePoints(f *testing.F) {
	for _, s := range []string{"1,2", "1,2 3,4 5,6 7,8", "1.5,-2e3", "NaN,1", "1", "1,2,3", ",", "", "1,2\x00",
		strings.Repeat("9", 400) + ",1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		pts, err := parsePoints(s)
		if err == nil && len(pts) != len(strings.Fields(s)) {
			t.Errorf("%q gives %d points", s, len(pts))
		}
		for _, p := range pts {
			if err == nil && (math.IsInf(p[0], 0) || math.IsInf(p[1], 0)) && !strings.ContainsAny(s, "iI") {
				t.Errorf("%q gives %v", s, p)
			}
		}
	})
}

// A file name that is sent stays a name: of one file, in the folder that it is put in.
func FuzzSafeName(f *testing.F) {
	for _, s := range []string{"IMG_1.jpg", "../../x", `..\..\x.jpg`, "a/b", "", ".", "..", "CON", "a\x00b.jpg",
		strings.Repeat("ä", 300) + ".heic", "x.", "<script>.svg"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		name := safeName(s)
		if name == "" || name == "." || name == ".." || strings.ContainsAny(name, "/\\\x00<>\"") || filepath.Base(name) != name ||
			len(name) > 400 {
			t.Errorf("%q becomes %q", s, name)
		}
	})
}
