package plane

import (
	"bytes"
	"image/png"
	"math"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

// All shades lie in the window around them, with room; a place and its shade are each other's.
func TestAround(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.Custom(func(t *rapid.T) cie.Lab {
			return cie.Lab{L: 70, A: rapid.Float64Range(-50, 90).Draw(t, "a"), B: rapid.Float64Range(-50, 90).Draw(t, "b")}
		})
		shades := rapid.SliceOfN(one, 1, 8).Draw(t, "shades")
		w := Around(shades)
		for _, c := range shades {
			x, y := w.At(c)
			if !w.Shows(c) || w != Whole && (x < 20 || y < 20 || x > Side-20 || y > Side-20) {
				t.Fatalf("%+v lies at %.0f, %.0f in %+v", c, x, y, w)
			}
			if back := w.Shade(70, x, y); math.Abs(back.A-c.A) > 0.051 || math.Abs(back.B-c.B) > 0.051 {
				t.Fatalf("%+v comes back as %+v", c, back)
			}
		}
		if w.Span > Whole.Span || w.Span < least {
			t.Fatalf("a window of %v", w.Span)
		}
		if got := Read("x", "1", "40"); got != Whole {
			t.Fatalf("Read of no number: %+v", got)
		}
	})
	if w := Around([]cie.Lab{{A: 14, B: 38}, {A: 20, B: 44}}); w.Span != least {
		t.Errorf("two near shades are shown in %+v", w)
	}
	across, up := Around([]cie.Lab{{A: 14, B: 38}}).Ticks()
	if len(across) < 3 || len(up) < 3 || len(across) > 8 {
		t.Errorf("ticks %v and %v", across, up)
	}
}

// The drawing's pixel at a shade has that shade's screen colour.
func TestDraw(t *testing.T) {
	t.Parallel()
	w := Around([]cie.Lab{{L: 76, A: 14, B: 38}})
	var b bytes.Buffer
	if err := w.Draw(&b, 76); err != nil {
		t.Fatal(err)
	}
	im, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	want := cie.Lab{L: 76, A: 14, B: 38}
	x, y := w.At(want)
	r, g, bl, _ := im.At(int(x), int(y)).RGBA()
	hex := "#" + string([]byte{hexOf(r >> 12), hexOf(r >> 8 & 15), hexOf(g >> 12), hexOf(g >> 8 & 15), hexOf(bl >> 12), hexOf(bl >> 8 & 15)})
	got, err := cie.ParseHex(hex)
	if err != nil || cie.DeltaE2000(got, want) > 1 {
		t.Errorf("%s at %v, want near %s", hex, want, want.Hex())
	}
}

func hexOf(v uint32) byte { return "0123456789abcdef"[v&15] }
