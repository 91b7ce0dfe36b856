package report

import (
	"bytes"
	"encoding/base64"
	"errors"
	"flag"
	"html"
	"image"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg"
	"hueward/colorimg/cie"
)

var update = flag.Bool("update", false, "write golden files anew")
var keepIn = flag.String("keep", "", "folder to keep the invented reports in, to look at")

func htmlOf(t testing.TB, s *Season) string {
	t.Helper()
	var b bytes.Buffer
	check(t, Write(&b, s))
	return b.String()
}

// The page writes the plus signs of base64 as &#43;.
var pictures = regexp.MustCompile(`"data:image/jpeg;base64,([^"]*)"`)

// golden compares got with a file of testdata, or writes it with -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		check(t, os.WriteFile(file, []byte(got), 0o666))
	}
	want, err := os.ReadFile(file)
	check(t, err)
	if d := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); d != "" {
		t.Errorf("%s differs (-want +got); if the change is meant, run with -update:\n%s", file, d)
	}
}

// The pictures are left out: their bytes depend on the Go version's encoder.
func TestWriteGolden(t *testing.T) {
	got := pictures.ReplaceAllString(htmlOf(t, garden(5, 1)), `"data:image/jpeg;base64,…"`)
	golden(t, "season.golden.html", got)
}

// A season of 24 plants with three photos each is a file that can be sent by
// mail: at most 4 MB.
func TestWriteWeight(t *testing.T) {
	got := htmlOf(t, garden(24, 3))
	if len(got) > 4<<20 {
		t.Errorf("report of 24 plants × 3 photos = %d bytes, want at most %d", len(got), 4<<20)
	}
	if *keepIn != "" {
		check(t, os.WriteFile(filepath.Join(*keepIn, "garden.html"), []byte(got), 0o666))
	}
}

// Nothing is fetched, and nothing runs.
func TestWriteSelfContained(t *testing.T) {
	got := htmlOf(t, garden(6, 2))
	for _, bad := range []string{"http:", "https:", "<script", "javascript:", "@import", "<link", "<iframe", "<object", "srcset"} {
		if strings.Contains(strings.ToLower(got), bad) {
			t.Errorf("the report contains %q", bad)
		}
	}
	for _, m := range regexp.MustCompile(`(?:src|href)="([^"]*)"|url\(([^)]*)\)`).FindAllStringSubmatch(got, -1) {
		if to := m[1] + m[2]; !strings.HasPrefix(to, "data:image/jpeg;base64,") && !strings.HasPrefix(to, "#") {
			t.Errorf("the report points to %q", to)
		}
	}
}

// Of a photo only its pixels go in: every segment of every picture is one that
// an image needs (ITU-T T.81, table B.1, from memory: DQT DB, SOF0 C0, DHT C4,
// SOS DA), none an APPn, where EXIF and places live, or a comment. And the
// folders of a file, which may name a street, stay out.
func TestWriteTellsNoPlace(t *testing.T) {
	got := htmlOf(t, garden(6, 2))
	found := pictures.FindAllStringSubmatch(got, -1)
	if len(found) != 11 { // 6 plants × 2, one of them with a single photo
		t.Fatalf("pictures in the report = %d, want 11", len(found))
	}
	for i, m := range found {
		b, err := base64.StdEncoding.DecodeString(html.UnescapeString(m[1]))
		check(t, err)
		for at := 2; ; {
			marker := b[at+1]
			if b[at] != 0xff || !bytes.Contains([]byte{0xdb, 0xc0, 0xc4, 0xda}, []byte{marker}) {
				t.Fatalf("picture %d has the segment %x %x", i, b[at], marker)
			}
			if marker == 0xda {
				break
			}
			at += 2 + int(b[at+2])<<8 + int(b[at+3])
		}
	}
	for _, bad := range []string{"secret lane", "/home/", "photos/2026", "Own Phone"} {
		if strings.Contains(got, bad) {
			t.Errorf("the report contains %q", bad)
		}
	}
}

// evil is text that would run, break out of an attribute, or of a style.
const evil = `"'><script>alert(1)</script><img src=x onerror=alert(2)>;background:url(https://x.example/)`

// fill puts text into every string reachable from v.
func fill(v reflect.Value, text string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Pointer:
		if !v.IsNil() {
			fill(v.Elem(), text)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), text)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(v.Field(i), text)
			}
		}
	}
}

func hostile() *Season {
	s := garden(12, 1)
	fill(reflect.ValueOf(s).Elem(), evil)
	s.Aim = Move
	for i := range s.Plants {
		s.Plants[i].Advice = []string{Keep, Reserve, Pass, evil}[i%4]
	}
	return s
}

func TestWriteEscapes(t *testing.T) {
	got := htmlOf(t, hostile())
	if n := strings.Count(got, "alert(1)"); n < 40 {
		t.Errorf("the text is shown %d times, want at least 40: is it left out?", n)
	}
	for _, bad := range []string{"<script", "<img src=x", `"'>`, "url(https"} {
		if strings.Contains(strings.ReplaceAll(got, "background:url(https://x.example/)", ""), bad) {
			t.Errorf("the report contains %q", bad)
		}
	}
	for _, m := range regexp.MustCompile(`style="([^"]*)"`).FindAllStringSubmatch(got, -1) {
		if !regexp.MustCompile(`^background-color:(#[0-9a-f]{6}|none)$`).MatchString(m[1]) {
			t.Errorf("style = %q", m[1])
		}
	}
}

// Whatever is missing, a report is written, and says so.
func TestWriteSparse(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		s    *Season
		want []string
	}{
		{"nothing", &Season{}, []string{"No plant could be ranked", "No tolerance is set", "Nothing: every photo was measured"}},
		{"only refused", &Season{Line: "cosmos", Refused: []Refused{{`C:\Users\someone\c1.jpg`, "", "no grey card found",
			"give --card x,y,w,h"}}},
			[]string{"No plant could be ranked", ">c1.jpg<", "give --card x,y,w,h"}},
		{"not a number", &Season{Target: Target{Lab: cie.Lab{L: 50}, Within: 3}, Plants: []Plant{
			{ID: "A", Lab: cie.Lab{L: nan, A: nan, B: nan}, DeltaE: nan, Low: nan, High: nan, ChanceKept: nan},
			{ID: "B", Lab: cie.Lab{L: 50}, DeltaE: 0}}}, []string{"–, –, –", "2 plants to drop"}},
		{"one plant on the target", &Season{Aim: Hold, Target: Target{Lab: cie.Lab{L: 90, A: 1, B: 2}}, Plants: []Plant{
			{ID: "A", Advice: Keep, Lab: cie.Lab{L: 90, A: 1, B: 2}}}}, []string{"held true", "Keep 1 plant<"}},
		{"photo without reading's details", &Season{Photos: []Photo{{}, {Plant: "Z",
			Reading: &colorimg.Reading{File: "a/z.jpg", Status: colorimg.Check}}}},
			[]string{"Plant not known", "z.jpg", "look again"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := htmlOf(t, c.s)
			for _, w := range c.want {
				if !strings.Contains(got, w) {
					t.Errorf("the report does not say %q", w)
				}
			}
			if strings.Contains(got, "NaN") {
				t.Error("the report says NaN")
			}
		})
	}
}

// Write leaves the season as it was, pictures included, and writes the same
// twice.
func TestWriteChangesNothing(t *testing.T) {
	s := garden(4, 1)
	first := htmlOf(t, s)
	numbers := cmp.Comparer(func(a, b float64) bool { return a == b || a != a && b != b })
	pixels := cmp.Comparer(func(a, b *image.NRGBA) bool { return a.Rect == b.Rect && bytes.Equal(a.Pix, b.Pix) })
	if d := cmp.Diff(garden(4, 1), s, numbers, pixels); d != "" {
		t.Errorf("season changed (-before +after):\n%s", d)
	}
	if htmlOf(t, s) != first {
		t.Error("the second report differs from the first")
	}
}

type brokenWriter struct{}

var errFull = errors.New("disk full")

func (brokenWriter) Write([]byte) (int, error) { return 0, errFull }

func TestWriteError(t *testing.T) {
	if err := Write(brokenWriter{}, garden(2, 0)); !errors.Is(err, errFull) {
		t.Errorf("Write to a full disk = %v, want %v", err, errFull)
	}
	if err := WriteRankCSV(brokenWriter{}, garden(2, 0)); !errors.Is(err, errFull) {
		t.Errorf("WriteRankCSV to a full disk = %v, want %v", err, errFull)
	}
}

// A station's season, 2 000 plants, without pictures.
func BenchmarkWrite2000(b *testing.B) {
	s := garden(2000, 0)
	for b.Loop() {
		check(b, Write(&bytes.Buffer{}, s))
	}
}

// check ends the test where what it rests on went wrong.
func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
