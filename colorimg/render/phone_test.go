package render_test

import (
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// The curve by its own definition: sRGB codes of black, 18 % grey and white
// stay (0.18 is code 0.46136, IEC 61966-2-1), a code of half the pivot goes to
// pivot·2^-(1+Contrast), and a half step up from it likewise.
func TestPhoneCurve(t *testing.T) {
	const p = 0.46136
	for _, tt := range []struct{ contrast, in, want float64 }{
		{0.2, 0, 0}, {0.2, p, p}, {0.2, 1, 1}, {0, 0.3, 0.3}, {0, 0.9, 0.9},
		{0.2, p / 2, p * math.Exp2(-1.2)}, {0.4, p / 2, p * math.Exp2(-1.4)},
		{0.2, 1 - (1-p)/2, 1 - (1-p)*math.Exp2(-1.2)},
	} {
		v := cie.Linear(tt.in)
		got := cie.Encode(render.Phone{Contrast: tt.contrast}.Apply(cie.RGB{v, v, v})[1])
		if math.Abs(got-tt.want) > 1e-4 {
			t.Errorf("contrast %.1f: code %.4f becomes %.4f, want %.4f ± 0.0001", tt.contrast, tt.in, got, tt.want)
		}
	}
}

// Saturation keeps luminance (Y of IEC 61966-2-1: 0.2126, 0.7152, 0.0722) and
// stretches the difference to it.
func TestPhoneSaturation(t *testing.T) {
	in := cie.RGB{0.5, 0.3, 0.2}
	y := 0.2126*in[0] + 0.7152*in[1] + 0.0722*in[2]
	got := render.Phone{Saturation: 1.25}.Apply(in)
	for i, v := range [3][2]float64{{got[0], y + 1.25*(in[0]-y)}, {got[1], y + 1.25*(in[1]-y)}, {got[2], y + 1.25*(in[2]-y)}} {
		if math.Abs(v[0]-v[1]) > 1e-4 {
			t.Errorf("channel %d = %.5f, want %.5f ± 0.0001", i, v[0], v[1])
		}
	}
}

// A photo by a phone is the photo without, sent through the phone: each pixel
// of the one through Apply against the other, to the rounding of both files.
func TestPhoneDrawsWhatItSays(t *testing.T) {
	s := small(render.Scene{Noise: -1, EV: -0.2, Form: render.Double})
	plain, _ := render.Draw(s)
	s.Phone = &render.Phone{Contrast: 0.3, Saturation: 1.2}
	im, truth := render.Draw(s)
	far, moved := 0.0, 0
	for i := 0; i < len(im.Pix); i += 4 {
		in := cie.RGB{cie.Linear(float64(plain.Pix[i]) / 255), cie.Linear(float64(plain.Pix[i+1]) / 255),
			cie.Linear(float64(plain.Pix[i+2]) / 255)}
		v := s.Phone.Apply(in)
		for k, w := range v {
			far = max(far, math.Abs(255*cie.Encode(w)-float64(im.Pix[i+k])))
		}
		if im.Pix[i] != plain.Pix[i] {
			moved++
		}
	}
	// Half a code of the plain file, times slopes of up to 1.3 × 1.4, and half a
	// code more; where saturation pulls a channel near black the code is steeper.
	if far > 4 || moved < len(im.Pix)/8 {
		t.Errorf("phone's photo lies up to %.1f codes from Apply of the plain one, %d pixels moved; want at most 4, and at least %d", far,
			moved, len(im.Pix)/8)
	}
	if _, without := render.Draw(small(render.Scene{Noise: -1, EV: -0.2, Form: render.Double})); without.Petal != truth.Petal ||
		without.Seen != truth.Seen {
		t.Error("the phone moves Truth.Petal or Truth.Seen: they are of the surfaces and the light")
	}
}
