package colorimg_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/draw"
	"image/jpeg"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// hugeJPEG is a file of 500 bytes that claims 60 000 × 60 000 pixels.
func hugeJPEG() []byte {
	b := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 1, 0, 0, 1, 0, 1, 0, 0,
		0xff, 0xc0, 0, 17, 8, 0xea, 0x60, 0xea, 0x60, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1,
		0xff, 0xda, 0, 12, 3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0}
	return append(b, make([]byte, 500-len(b))...)
}

// sceneJPEG draws the scene as a JPEG.
func sceneJPEG(t testing.TB, s render.Scene) []byte {
	t.Helper()
	im, _ := render.Draw(s)
	return jpegOf(t, im, photo.Info{})
}

// gray is the scene as a photo in black and white.
func gray(t testing.TB, s render.Scene) []byte {
	im, _ := render.Draw(s)
	out := image.NewGray(im.Bounds())
	draw.Draw(out, out.Rect, im, im.Bounds().Min, draw.Src)
	return saved(t, out, 92)
}

func saved(t testing.TB, im image.Image, quality int) []byte {
	var b bytes.Buffer
	must.OK(t, jpeg.Encode(&b, im, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

// TestCoarselySaved: a photo saved at a low quality is flagged, and its precision holds what that does to colours. At a
// quality of 10 it was said to be sure within 0.4, and was 5 off.
func TestCoarselySaved(t *testing.T) {
	for i := range 2 {
		im, truth := render.Draw(usual(int64(20 + i)))
		for _, quality := range []int{10, 25, 90} {
			r, err := colorimg.Measure(t.Context(), write(t, "a.jpg", saved(t, im, quality)), nil)
			if flagged := err == nil && slices.Contains(r.Flags, colorimg.FlagCompressed); err != nil || flagged != (quality < 30) {
				t.Errorf("photo %d at quality %d: %v, flags %v", i, quality, err, r.Flags)
				continue
			}
			if off := cie.DeltaE2000(r.Lab.Lab(), truth.Seen); off > 2.5*r.SE.Precision {
				t.Errorf("photo %d at quality %d: %.1f off, said to be within %.1f", i, quality, off, r.SE.Precision)
			}
		}
	}
}

func kind(k photo.Kind) func(error) bool {
	return func(err error) bool {
		var e *photo.RefusedError
		return errors.As(err, &e) && e.Kind == k
	}
}

// TestMeasureRefuses: what gives no reading is refused in one line that names
// the file once and says what to do; the kind of trouble can be asked for.
func TestMeasureRefuses(t *testing.T) {
	good := sceneJPEG(t, usual(1))
	noCard, noFlower, soil, glare := usual(2), usual(3), usual(4), usual(5)
	noCard.Card = render.CardSpec{None: true}
	noFlower.At, soil.At = [2]float64{-3, -3}, [2]float64{-3, -3}
	soil.Ground = render.Soil
	glare.EV = 3
	steep := usual(6) // light that changes much across the card and more to the bloom
	steep.Card.Width, steep.Gradient = 0.25, 0.45
	at := func(x, y, w, h float64) *[4]colorimg.Point {
		return &[4]colorimg.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
	}
	dir := t.TempDir()
	for _, c := range []struct {
		name string
		file string
		opt  *colorimg.Options
		word string
		kind func(error) bool
	}{
		{"an empty file", write(t, "a.jpg", nil), nil, "empty", kind(photo.Broken)},
		{"a text file", write(t, "a.jpg", []byte("the marigolds are out\n")), nil, "text", kind(photo.Unsupported)},
		{"a truncated JPEG", write(t, "a.jpg", good[:len(good)/2]), nil, "copy it again", kind(photo.Broken)},
		{"a JPEG of two bytes", write(t, "a.jpg", good[:2]), nil, "cut short", kind(photo.Broken)},
		{"a header of 60 000 × 60 000", write(t, "a.jpg", hugeJPEG()), nil, "60000", kind(photo.TooLarge)},
		{"more bytes than allowed", write(t, "a.jpg", good), &colorimg.Options{Limits: photo.Limits{Bytes: 100}}, "limit",
			kind(photo.TooLarge)},
		{"more pixels than allowed", write(t, "a.jpg", good), &colorimg.Options{Limits: photo.Limits{Pixels: 100}}, "limit",
			kind(photo.TooLarge)},
		{"a folder", dir, nil, "folder", kind(photo.Unsupported)},
		{"a missing file", filepath.Join(dir, "none.jpg"), nil, "no such file",
			func(err error) bool { return errors.Is(err, fs.ErrNotExist) }},
		{"a black photo", write(t, "a.jpg", black(t)), nil, "black", nil},
		{"a photo in black and white", write(t, "a.jpg", gray(t, usual(1))), nil, "black and white", nil},
		{"no card", write(t, "a.jpg", sceneJPEG(t, noCard)), nil, "no grey card",
			func(err error) bool { return errors.Is(err, card.ErrNone) }},
		{"no flower", write(t, "a.jpg", sceneJPEG(t, noFlower)), nil, "no bloom",
			func(err error) bool { return errors.Is(err, petal.ErrNoBloom) }},
		{"soil without a flower", write(t, "a.jpg", sceneJPEG(t, soil)), nil, "no bloom",
			func(err error) bool { return errors.Is(err, petal.ErrNoBloom) }},
		{"a card that is burnt out", write(t, "a.jpg", sceneJPEG(t, glare)), &colorimg.Options{Card: at(620, 220, 60, 40)}, "too bright",
			nil},
		{"light that changes from card to bloom", write(t, "a.jpg", sceneJPEG(t, steep)), nil, "the light changes across the card", nil},
		{"a card outside", write(t, "a.jpg", good), &colorimg.Options{Card: at(900, 700, 60, 40)}, "outside", nil},
		{"a card of no size", write(t, "a.jpg", good), &colorimg.Options{Card: at(620, 220, 0, 0)}, "too small", nil},
		{"a card that is no place", write(t, "a.jpg", good), &colorimg.Options{Card: at(math.NaN(), 0, math.Inf(1), 1)}, "card", nil},
		{"a bloom outside", write(t, "a.jpg", good), &colorimg.Options{Bloom: &colorimg.Point{800, 10}}, "800 × 600", nil},
		{"a bloom left of the photo", write(t, "a.jpg", good), &colorimg.Options{Bloom: &colorimg.Point{-1, 10}}, "outside", nil},
		{"a bloom that is no place", write(t, "a.jpg", good), &colorimg.Options{Bloom: &colorimg.Point{math.NaN(), math.NaN()}}, "bloom",
			nil},
	} {
		r, err := colorimg.Measure(context.Background(), c.file, c.opt)
		var e *colorimg.RefusedError
		if !errors.As(err, &e) {
			t.Errorf("%s: error %v, want a RefusedError", c.name, err)
			continue
		}
		line := err.Error()
		if !strings.HasPrefix(line, c.file+": ") || strings.Count(line, c.file) != 1 || strings.ContainsAny(line, "\r\n") ||
			!strings.Contains(line, "; ") {
			t.Errorf("%s: %q, want one line of FILE: reason; hint", c.name, line)
		}
		if !strings.Contains(line, c.word) {
			t.Errorf("%s: %q, want it to say %q", c.name, line, c.word)
		}
		if c.kind != nil && !c.kind(err) {
			t.Errorf("%s: %#v is not of the kind that callers ask for", c.name, err)
		}
		if e.File != c.file || e.Code == "" || e.What == "" || e.Todo == "" {
			t.Errorf("%s: %+v, want file, code, what and what helps", c.name, e)
		}
		if r == nil || r.Status != colorimg.Refused || r.File != c.file || r.Reason != e.What+"; "+e.Todo {
			t.Errorf("%s: reading %+v, want it refused with the reason", c.name, r)
			continue
		}
		if r.Lab != nil || r.LCh != nil || r.Hex != "" || r.Petal.Pixels != 0 || r.Mask != nil {
			t.Errorf("%s: a refused reading holds a colour: %+v", c.name, r)
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 0 {
		t.Errorf("files left behind: %v, %v", left, err)
	}
}

// TestMeasureUnreadable: a file that may not be read; the superuser may read
// all, so for that one there is nothing to see.
func TestMeasureUnreadable(t *testing.T) {
	name := write(t, "a.jpg", sceneJPEG(t, usual(1)))
	must.OK(t, os.Chmod(name, 0))
	_, err := colorimg.Measure(context.Background(), name, nil)
	if os.Getuid() == 0 {
		if err != nil {
			t.Errorf("as superuser: %v", err)
		}
		return
	}
	if !errors.As(err, new(*colorimg.RefusedError)) || !errors.Is(err, fs.ErrPermission) {
		t.Errorf("error %v, want refused for want of permission", err)
	}
}

// TestMeasureEnds: an ended context is no refusal.
func TestMeasureEnds(t *testing.T) {
	name := write(t, "a.jpg", sceneJPEG(t, usual(1)))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if r, err := colorimg.Measure(ctx, name, nil); err != context.Canceled || r == nil {
		t.Errorf("Measure = %v, %v; want a reading and context.Canceled itself", r, err)
	}
	late, cancel := context.WithTimeout(context.Background(), -1)
	defer cancel()
	if _, err := colorimg.Measure(late, name, nil); err != context.DeadlineExceeded {
		t.Errorf("Measure = %v, want context.DeadlineExceeded itself", err)
	}
}

// TestMeasureNoCard: without a card the camera's white balance is taken, and
// the reading always says so and is less sure.
func TestMeasureNoCard(t *testing.T) {
	for _, none := range []bool{true, false} { // a card that lies there is not looked at
		s := usual(2)
		s.Kelvin, s.EV, s.Card.None = 6504, 0, none
		name := write(t, "a.jpg", sceneJPEG(t, s))
		r := measured(t, name, &colorimg.Options{NoCard: true})
		if !slices.Contains(r.Flags, colorimg.FlagNoCard) || r.Status != colorimg.Check || r.Card.Found || r.Card.Corners != nil ||
			r.Card.Gains != [3]float64{1, 1, 1} {
			t.Errorf("card not there: %v: status %s, flags %v, card %+v", none, r.Status, r.Flags, r.Card)
		}
		if none {
			continue
		}
		with := measured(t, name, nil)
		if with.SE.Precision >= r.SE.Precision || with.SE.Trueness >= r.SE.Trueness {
			t.Errorf("standard errors %+v with a card, %+v without; want those without larger", with.SE, r.SE)
		}
		if d := deltaE(r, with); d > 1 { // drawn balanced and exposed right, both must agree
			t.Errorf("without the card: Delta E %.2f from with it, want at most 1", d)
		}
	}
}
