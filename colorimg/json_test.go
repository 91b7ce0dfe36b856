package colorimg_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"hueward/colorimg"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/tag"
)

// diff tells readings apart, masks included.
func diff(a, b any) string {
	return cmp.Diff(a, b, cmpopts.EquateNaNs(), cmpopts.EquateEmpty())
}

// shape lists the keys of a JSON value with their types, depth first.
func shape(at string, v any, out *[]string) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			shape(at+"."+k, x, out)
		}
	case []any:
		*out = append(*out, fmt.Sprintf("%s: array", at))
		if len(v) > 0 {
			shape(at+"[]", v[0], out)
		}
	case float64:
		*out = append(*out, at+": number")
	case string:
		*out = append(*out, at+": string")
	case bool:
		*out = append(*out, at+": bool")
	case nil:
		*out = append(*out, at+": null")
	}
}

func shapeOf(t *testing.T, r *colorimg.Reading) []string {
	t.Helper()
	b := must.Have(json.Marshal(r))(t)
	var v any
	must.OK(t, json.Unmarshal(b, &v))
	var out []string
	shape("", v, &out)
	slices.Sort(out)
	return out
}

// fixed are the keys that the design fixes, of a reading with a colour; more
// are those added since, which others may rely on too.
var (
	fixed = []string{
		".card.cct: number", ".card.corners: array", ".card.corners[]: array", ".card.corners[][]: number", ".card.ev: number",
		".card.found: bool", ".card.gains: array", ".card.gains[]: number",
		".colours: array", ".colours[].lab: array", ".colours[].lab[]: number", ".colours[].share: number",
		".file: string", ".flags: array", ".flags[]: string", ".hex: string", ".lab: array", ".lab[]: number",
		".lch: array", ".lch[]: number", ".name: string", ".petal.pixels: number", ".petal.share: number",
		".petal.sure: number",
		".plant: string", ".reason: string", ".se.precision: number", ".se.trueness: number", ".sha256: string",
		".status: string", ".taken_at: string",
	}
	more = []string{
		".camera: string", ".camera_model: string", ".card.kind: string", ".method: number", ".petal.bloom: array",
		".petal.bloom[]: number",
		".petal.diameter_mm: number", ".petal.diameter_px: number", ".petal.outline: array",
		".petal.outline[]: array", ".petal.outline[][]: array", ".petal.outline[][][]: number", ".profile: string",
		".radial: array", ".radial[].at: number", ".radial[].lab: array", ".radial[].lab[]: number", ".radial[].share: number",
		".se_lab: array", ".se_lab[]: number", ".size: array", ".size[]: number", ".spread: array", ".spread[]: number",
		".tag.corners: array", ".tag.corners[]: array", ".tag.corners[][]: number", ".tag.found: bool", ".tag.mm: number",
		".tag.sheet: string", ".tag.text: string",
		".zones: array", ".zones[].from: number", ".zones[].lab: array", ".zones[].lab[]: number", ".zones[].share: number",
		".zones[].to: number", ".zones[].zone: string",
	}
)

// TestReadingJSON: a reading's JSON has the keys of the design, with their
// types, and no others than those added since.
func TestReadingJSON(t *testing.T) {
	s := usual(2)
	s.EV = -3.4 // so that there is a flag
	code := must.Have(tag.Matrix(tag.Payload{Plant: "M-07", MM: 24}.String()))(t)
	s.Tag = &render.TagSpec{Modules: code, Width: 0.12}
	im, _ := render.Draw(s)
	taken := time.Date(2026, 7, 14, 9, 30, 5, 0, time.UTC)
	r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{Taken: taken, Make: "Acme", Model: "One", GPS: true})), nil)
	want := append(slices.Clone(fixed), more...)
	slices.Sort(want)
	if d := cmp.Diff(want, shapeOf(t, r)); d != "" {
		t.Errorf("keys of a reading (-want +got):\n%s", d)
	}
	var v struct {
		Taken  string `json:"taken_at"`
		Lab    []float64
		LCh    []float64
		Status string
		Hex    string
		Plant  string
		Tag    struct {
			Text string
			MM   float64
		}
		Petal struct {
			DiameterMM float64 `json:"diameter_mm"`
		}
		Colours []struct{ Share float64 }
		Card    struct{ Corners [][]float64 }
		SHA256  string
	}
	b := must.Have(json.Marshal(r))(t)
	must.OK(t, json.Unmarshal(b, &v))
	if v.Taken != "2026-07-14T09:30:05Z" {
		t.Errorf("taken_at = %q", v.Taken)
	}
	if len(v.Lab) != 3 || len(v.LCh) != 3 || v.Lab[0] != v.LCh[0] || math.Abs(math.Hypot(v.Lab[1], v.Lab[2])-v.LCh[1]) > 0.002 {
		t.Errorf("lab %v and lch %v do not fit", v.Lab, v.LCh)
	}
	if v.Plant != "M-07" || v.Tag.Text != "HUEWARD:24:M-07" || v.Tag.MM != 24 || !(v.Petal.DiameterMM > 0) {
		t.Errorf("plant %q, tag %+v, %v mm across; want what the tag says", v.Plant, v.Tag, v.Petal.DiameterMM)
	}
	if v.Status != "check" || len(v.Hex) != 7 || v.Hex[0] != '#' || len(v.SHA256) != 64 || len(v.Card.Corners) != 4 ||
		len(v.Card.Corners[0]) != 2 {
		t.Errorf("%s", b)
	}
	sum := 0.0
	for _, c := range v.Colours {
		sum += c.Share
	}
	if math.Abs(sum-1) > 0.001 {
		t.Errorf("shares sum to %v, want 1", sum)
	}
}

// TestReadingJSONRefused: a refused reading has the same keys, null or empty.
func TestReadingJSONRefused(t *testing.T) {
	name := write(t, "x.jpg", black(t))
	r, err := colorimg.Measure(t.Context(), name, nil)
	if err == nil {
		t.Fatal("a black photo was measured")
	}
	want := []string{
		".camera: string", ".camera_model: string", ".card.cct: number", ".card.corners: null", ".card.ev: number", ".card.found: bool",
		".card.gains: array", ".card.gains[]: number", ".card.kind: string", ".colours: array", ".file: string", ".flags: array",
		".hex: string", ".lab: null", ".lch: null",
		".method: number", ".name: string", ".petal.bloom: null", ".petal.diameter_mm: number", ".petal.diameter_px: number",
		".petal.pixels: number", ".petal.share: number", ".petal.sure: number", ".plant: null",
		".profile: string", ".radial: array", ".reason: string", ".se.precision: number", ".se.trueness: number", ".se_lab: null",
		".sha256: string",
		".size: array", ".size[]: number", ".spread: null", ".status: string", ".tag.corners: null", ".tag.found: bool",
		".tag.mm: number", ".tag.sheet: string",
		".tag.text: string", ".taken_at: null", ".zones: array",
	}
	if d := cmp.Diff(want, shapeOf(t, r)); d != "" {
		t.Errorf("keys of a refused reading (-want +got):\n%s", d)
	}
}
