package render_test

import (
	"image"
	"math"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/encoder"

	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// qr is a QR code by an outside library.
func qr(t *testing.T, text string) (rows [][]bool) {
	t.Helper()
	code := must.Have(encoder.Encoder_encodeWithoutHint(text, decoder.ErrorCorrectionLevel_M))(t)
	m := code.GetMatrix()
	for y := range m.GetHeight() {
		rows = append(rows, make([]bool, m.GetWidth()))
		for x := range rows[y] {
			rows[y][x] = m.Get(x, y) == 1
		}
	}
	return rows
}

// cut is the upright rectangle around a quad with a margin.
func cut(im *image.NRGBA, q [4][2]float64, margin float64) image.Image {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), 0.0, 0.0
	for _, p := range q {
		x0, x1, y0, y1 = min(x0, p[0]), max(x1, p[0]), min(y0, p[1]), max(y1, p[1])
	}
	return im.SubImage(image.Rect(int(x0-margin), int(y0-margin), int(x1+margin)+1, int(y1+margin)+1))
}

// A drawn tag must be read by a reader that nobody here wrote (gozxing), the
// finder patterns' middles lying where Truth says: 3.5 modules in from the
// corners (ISO/IEC 18004, from memory). The reader finds them to half a module
// or so, as it looks for whole pixels.
func TestTagIsReadByAnotherReader(t *testing.T) {
	const text = "HW1:C-07-3 apricot, row 2" // long enough for an alignment pattern, which the reader wants for a tilted code
	modules := qr(t, text)
	for _, tt := range []struct {
		name        string
		width, turn float64
		tilt        float64
		ground      render.Ground
	}{
		{"flat", 0.12, 0, 0, render.Board}, {"turned", 0.12, 30, 0, render.Soil}, {"upside down", 0.10, 180, 0, render.Leaves},
		{"tilted", 0.14, 0, 30, render.Wood}, {"turned and tilted", 0.14, 100, 25, render.GrayBoard},
	} {
		s := render.Scene{Width: 1400, Height: 1050, EV: -0.3, Ground: tt.ground, At: [2]float64{0.3, 0.5},
			Tag: &render.TagSpec{Modules: modules, Width: tt.width, Angle: tt.turn, Tilt: tt.tilt, At: &[2]float64{0.8, 0.7}}}
		s.Card.At = &[2]float64{0.8, 0.2}
		im, truth := render.Draw(s)
		part := cut(im, truth.TagEdge, 6)
		bits := must.Have(gozxing.NewBinaryBitmapFromImage(part))(t)
		got, err := qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got.GetText() != text {
			t.Errorf("%s: read %q, want %q", tt.name, got.GetText(), text)
		}
		// The reader's points: lower left, upper left, upper right.
		n := float64(len(modules))
		size := tt.width * 1400 / n
		for k, corner := range []int{3, 0, 1} {
			p, across := truth.Tag[corner], truth.Tag[(corner+2)%4]
			// Along the diagonal by 3.5 of n modules; near enough in perspective.
			want := [2]float64{p[0] + 3.5/n*(across[0]-p[0]), p[1] + 3.5/n*(across[1]-p[1])}
			q := got.GetResultPoints()[k]
			at := [2]float64{q.GetX() + float64(part.Bounds().Min.X), q.GetY() + float64(part.Bounds().Min.Y)}
			if d := hypot(at, want); d > 1.0*size+1 {
				t.Errorf("%s: finder pattern %d at %.1f, want %.1f ± %.1f (off by %.1f)", tt.name, k, at, want, 1.0*size+1, d)
			}
		}
	}
}

// A tilted square is foreshortened by the cosine and narrows with distance: the
// pinhole camera's own laws.
func TestTagTiltFollowsThePinhole(t *testing.T) {
	s := render.Scene{Width: 1000, Height: 750, NoBloom: true, Noise: -1, Card: render.CardSpec{None: true},
		Tag: &render.TagSpec{Modules: [][]bool{{true}}, Width: 0.1, Tilt: 30, At: &[2]float64{0.5, 0.5}}}
	_, truth := render.Draw(s)
	// A code 100 pixels wide seen with a focal length of 800 is 8 of its widths
	// away; its edges at ± 0.5 lie sin 30° · 0.5 farther and nearer.
	top, bottom := 800/(8+0.25), 800/(8-0.25)
	if got := truth.Tag[1][0] - truth.Tag[0][0]; math.Abs(got-top) > 1e-6 {
		t.Errorf("upper edge %.3f long, want %.3f", got, top)
	}
	if got := truth.Tag[2][0] - truth.Tag[3][0]; math.Abs(got-bottom) > 1e-6 {
		t.Errorf("lower edge %.3f long, want %.3f", got, bottom)
	}
	tall := math.Cos(math.Pi/6) * 0.5 * (top + bottom)
	if got := truth.Tag[3][1] - truth.Tag[0][1]; math.Abs(got-tall) > 1e-6 {
		t.Errorf("%.3f tall, want %.3f", got, tall)
	}
}

// Left to the seed, a tag lies in the frame, off the bloom and off the card.
func TestTagFindsRoom(t *testing.T) {
	modules := qr(t, "C-07-3")
	for seed := range int64(20) {
		s := render.Scene{Width: 400, Height: 300, Noise: -1, Blur: -1, Seed: seed, Diameter: 0.35 + 0.02*float64(seed),
			Blooms: int(seed % 3),
			Tag:    &render.TagSpec{Modules: modules, Angle: 17 * float64(seed), Tilt: 1.5 * float64(seed)}}
		_, truth := render.Draw(s)
		if truth.Tag == ([4][2]float64{}) {
			t.Errorf("seed %d: no room found for a tag", seed)
			continue
		}
		// The bloom may not move for it.
		s.Tag = nil
		if _, bare := render.Draw(s); bare.Pixels != truth.Pixels || bare.Card != truth.Card {
			t.Errorf("seed %d: the tag changes the bloom or the card", seed)
		}
		for i, p := range truth.TagEdge {
			q := truth.TagEdge[(i+1)%4]
			if p[0] < 0 || p[1] < 0 || p[0] > 399 || p[1] > 299 {
				t.Errorf("seed %d: corner %.1f outside the frame", seed, p)
			}
			for k := range 21 {
				u := float64(k) / 20
				at := [2]float64{p[0] + u*(q[0]-p[0]), p[1] + u*(q[1]-p[1])}
				if d := hypot(at, truth.Bloom); d < truth.Radius {
					t.Errorf("seed %d: the tag's edge lies on the bloom", seed)
					break
				}
				if inside(truth.Edge, at) {
					t.Errorf("seed %d: the tag's edge lies on the card", seed)
					break
				}
			}
		}
	}
}

// inside reports whether p lies in a quad with corners clockwise.
func inside(q [4][2]float64, p [2]float64) bool {
	for i, a := range q {
		b := q[(i+1)%4]
		if (b[0]-a[0])*(p[1]-a[1])-(b[1]-a[1])*(p[0]-a[0]) < 0 {
			return false
		}
	}
	return true
}
