package tag

import (
	"bytes"
	"image"
	"image/draw"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render/scenes"
	"hueward/colorimg/shape"
)

const (
	short = "HUEWARD:24:C-05"         // fits the smallest code, 21 modules
	long  = "HUEWARD:24:c-05/östlich" // 25 modules
)

var grounds = []string{"board", "leaves", "soil", "noise"}

// frame is a 12-megapixel photo of a ground, repeated.
func frame(kind string, seed uint64) *image.Gray {
	tile := ground(kind, 800, 600, seed)
	im := image.NewGray(image.Rect(0, 0, 4000, 3000))
	for y := 0; y < 3000; y += 600 {
		for x := 0; x < 4000; x += 800 {
			draw.Draw(im, image.Rect(x, y, x+800, y+600), tile, image.Point{}, draw.Src)
		}
	}
	return im
}

// frames are the photos of the grounds, each made when it is first asked for.
var frames = func() (f [4]func() *image.Gray) {
	for g, kind := range grounds {
		f[g] = sync.OnceValue(func() *image.Gray { return frame(kind, uint64(g)) })
	}
	return f
}()

// hold draws the tag, and does to the part of the photo around it what JPEG does.
func (p pose) hold(t testing.TB, im *image.Gray) [4][2]float64 {
	t.Helper()
	c := p.draw(t, im)
	r := int(p.width*1.3) + 16
	part := image.Rect((int(p.cx)-r)&^7, (int(p.cy)-r)&^7, (int(p.cx)+r)&^7, (int(p.cy)+r)&^7).Intersect(im.Rect)
	crop := image.NewGray(image.Rect(0, 0, part.Dx(), part.Dy()))
	draw.Draw(crop, crop.Rect, im, part.Min, draw.Src)
	draw.Draw(im, part, compressed(t, crop, p.quality), image.Point{}, draw.Src)
	return c
}

// furthest is how far the corners lie from where they are, in modules.
func (t Tag) furthest(c [4][2]float64) float64 {
	worst := 0.0
	for i, p := range t.Corners {
		worst = max(worst, math.Hypot(p[0]-c[i][0], p[1]-c[i][1]))
	}
	return worst * float64(t.Modules) / math.Sqrt(shape.Turned(t.Corners[:]))
}

// How often a code of 3 % of the frame's width is read, tilted by 30° about any
// axis and turned by any angle; and how well its corners are known. The pictures
// are made up, by a pinhole camera; the shares that are asked for are ours.
func TestReadPoses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		pose pose
		want float64 // share read, at least
	}{
		{"sun", pose{light: 0.8, slope: 0.2, blur: 0.8, noise: 2, quality: 85}, 1},
		{"shade", pose{light: 0.08, slope: 0.6, blur: 0.8, noise: 4, quality: 80}, 1},
		{"edge of a shadow", pose{light: 0.7, shadow: true, blur: 0.8, noise: 3, quality: 85}, 0.95},
		{"soft and coarse", pose{light: 0.4, slope: 0.3, blur: 1.3, noise: 4, quality: 60}, 0.95},
	} {
		t.Run(c.name, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(uint64(len(c.name)), 5))
			t.Parallel()
			each := scenes.Count(2, 6)
			seen, all, worst := 0, 0, 0.0
			for g, kind := range grounds {
				im := image.NewGray(image.Rect(0, 0, 4000, 3000))
				for i := range each {
					copy(im.Pix, frames[g]().Pix)
					p := c.pose
					p.text, p.width, p.tilt = []string{short, long}[i%2], 120, math.Pi/6
					p.turn, p.lean = rnd.Float64()*2*math.Pi, rnd.Float64()*2*math.Pi
					p.cx, p.cy = 200+3600*rnd.Float64(), 200+2600*rnd.Float64()
					corners := p.hold(t, im)
					all++
					for _, g := range read(lightness(im)) {
						switch g.Text {
						case p.text:
							seen++
							worst = max(worst, g.furthest(corners))
						case "":
							t.Logf("%s: seen but not read: %+v", kind, p)
						default:
							t.Errorf("%s: read %q, want %q", kind, g.Text, p.text)
						}
					}
				}
			}
			t.Logf("read %d of %d, corners within %.3f modules", seen, all, worst)
			if share := float64(seen) / float64(all); share < c.want {
				t.Errorf("read %.0f %%, want at least %.0f %%", 100*share, 100*c.want)
			}
			if worst > 0.15 {
				t.Errorf("a corner is %.3f modules off, want at most 0.15", worst)
			}
		})
	}
}

// What hides a code is noticed: it is read all the same, or reported as
// unreadable; never read as another.
func TestReadHidden(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name           string
		pose           pose
		read, reported bool // must be
	}{
		{"a finger on its middle", pose{width: 200, cover: [3]float64{0.55, 0.58, 0.24}}, false, true},
		{"a finger on its free corner", pose{width: 200, cover: [3]float64{0.85, 0.85, 0.12}}, true, true},
		{"a finger on its bottom left", pose{width: 200, cover: [3]float64{0.05, 0.95, 0.2}}, true, true},
		{"a finger on its top right", pose{width: 200, cover: [3]float64{1, 0, 0.2}}, true, true},
		{"a finger on its top left", pose{width: 200, cover: [3]float64{0, 0, 0.2}}, true, true},
		{"a thumb over a third", pose{width: 200, cover: [3]float64{0.95, 0.6, 0.42}}, false, true},
		{"mud between the corners", pose{width: 120, cover: [3]float64{0.5, 0.5, 0.22}}, false, true},
		{"only one corner", pose{width: 200, cover: [3]float64{0.8, 0.8, 0.72}}, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(uint64(len(c.name)), 7))
			t.Parallel()
			for i := range scenes.Count(2, 6) {
				im := ground(grounds[i%4], 1200, 900, 3)
				p := c.pose
				p.text, p.light, p.slope, p.blur, p.noise, p.quality = short, 0.4, 0.2, 0.7, 2, 88
				p.turn, p.lean, p.tilt = rnd.Float64()*2*math.Pi, rnd.Float64()*2*math.Pi, 0.3
				p.cx, p.cy = 600, 450
				p.hold(t, im)
				tags := read(lightness(im))
				got := Choose(tags)
				switch {
				case got.Found && got.Tag.Text != p.text:
					t.Errorf("read %q, want %q or nothing", got.Tag.Text, p.text)
				case c.read && !got.Found:
					t.Errorf("%d: not read: %+v", i, tags)
				case c.reported && !got.Found && !got.Unreadable:
					t.Errorf("%d: %+v, want it read or reported", i, tags)
				case !c.reported && len(tags) > 0:
					t.Errorf("%d: %+v, want nothing", i, tags)
				}
			}
		})
	}
}

// A code out of focus or smeared is read until its corner patterns are lost in
// the blur: at a standard deviation of 0.4 modules or a smear of one and a half.
// It never says what it does not.
func TestReadBlurred(t *testing.T) {
	t.Parallel()
	for _, smear := range []bool{false, true} {
		var counts [3]int // read, reported, not seen
		n := scenes.Count(5, 24)
		for i := range n {
			im := ground(grounds[i%4], 900, 700, 3)
			amount := 0.15 + 1.2*float64(i)/float64(n) // of a module, 8 pixels
			p := pose{text: short, width: 168, light: 0.5, noise: 2, quality: 85, turn: 7.2 * float64(i) / float64(n), cx: 450, cy: 350,
				blur: 0.7}
			if smear {
				p.motion = 8 * 1.4 * amount
			} else {
				p.blur = 8 * 0.6 * amount
			}
			p.hold(t, im)
			got := Choose(read(lightness(im)))
			switch {
			case got.Found && got.Tag.Text != p.text:
				t.Errorf("read %q, want %q or nothing", got.Tag.Text, p.text)
			case got.Found:
				counts[0]++
			case got.Unreadable:
				counts[1]++
			default:
				counts[2]++
			}
		}
		t.Logf("smeared %v: read %d, reported %d, not seen %d", smear, counts[0], counts[1], counts[2])
		want := 10 * n / 24 // to 0.36 modules
		if smear {
			want = 15 * n / 24 // to 1.2 modules
		}
		if counts[0] < want {
			t.Errorf("smeared %v: %d of %d read, want at least %d", smear, counts[0], n, want)
		}
	}
}

// The same photo, stored turned or mirrored, has the same codes.
func TestReadTurnedPhoto(t *testing.T) {
	t.Parallel()
	im := ground("leaves", 700, 500, 4)
	p := pose{text: long, width: 150, light: 0.5, blur: 0.7, noise: 2, quality: 88, turn: 0.4, tilt: 0.4, cx: 330, cy: 240}
	corners := p.hold(t, im)
	for way := range 8 {
		swap, flipX, flipY := way&1 > 0, way&2 > 0, way&4 > 0
		w, h := 700, 500
		l := photo.Lightness{W: w, H: h, Pix: make([]uint8, w*h), DX: 1, DY: w}
		if swap {
			l.DX, l.DY = h, 1
		}
		if flipX {
			l.Origin, l.DX = l.Origin+(w-1)*l.DX, -l.DX
		}
		if flipY {
			l.Origin, l.DY = l.Origin+(h-1)*l.DY, -l.DY
		}
		for y := range h {
			for x := range w {
				l.Pix[l.Origin+x*l.DX+y*l.DY] = im.GrayAt(x, y).Y
			}
		}
		tags := read(&l)
		if len(tags) != 1 || tags[0].Text != long {
			t.Fatalf("stored in way %d: %+v, want %q", way, tags, long)
		}
		if d := tags[0].furthest(corners); d > 0.15 {
			t.Errorf("stored in way %d: a corner is %.3f modules off, want at most 0.15", way, d)
		}
	}
}

func TestReadSeveral(t *testing.T) {
	t.Parallel()
	im := ground("soil", 1600, 1200, 5)
	usual := pose{light: 0.5, blur: 0.7, noise: 2, quality: 88, tilt: 0.3}
	for _, c := range []struct {
		text       string
		width      float64
		x, y, turn float64
	}{
		{"HUEWARD:24:C-05", 220, 400, 400, 1},
		{"HUEWARD:24:C-06", 140, 1200, 300, 2.5},
		{"https://example.org/seeds", 300, 1150, 850, 4},
	} {
		p := usual
		p.text, p.width, p.cx, p.cy, p.turn = c.text, c.width, c.x, c.y, c.turn
		p.hold(t, im)
	}
	tags := read(lightness(im))
	var texts []string
	for _, g := range tags {
		texts = append(texts, g.Text)
	}
	want := []string{"https://example.org/seeds", "HUEWARD:24:C-05", "HUEWARD:24:C-06"}
	if len(texts) != 3 || texts[0] != want[0] || texts[1] != want[1] || texts[2] != want[2] {
		t.Fatalf("read %q, want %q", texts, want)
	}
	if c := Choose(tags); !c.Found || c.Payload != (Payload{Plant: "C-05", MM: 24}) || !c.Rival || c.Unreadable {
		t.Errorf("Choose = %+v, want plant C-05 with a rival", c)
	}
}

func TestChoose(t *testing.T) {
	tag := func(text string) Tag { return Tag{Text: text, Modules: 21} }
	for name, c := range map[string]struct {
		tags                     []Tag
		plant                    string
		found, unreadable, rival bool
	}{
		"none":                     {nil, "", false, false, false},
		"unreadable":               {[]Tag{tag("")}, "", false, true, false},
		"a link":                   {[]Tag{tag("https://example.org")}, "", false, false, false},
		"a link and an unreadable": {[]Tag{tag("https://example.org"), tag("")}, "", false, true, false},
		"an unreadable behind":     {[]Tag{tag("HUEWARD:24:C-05"), tag("")}, "C-05", true, false, false},
		"sheet and plant":          {[]Tag{tag("HUEWARD:A5:"), tag("HUEWARD:24:C-05")}, "C-05", true, false, false},
		"the same twice":           {[]Tag{tag("HUEWARD:A5:C-05"), tag("HUEWARD:24:C-05")}, "C-05", true, false, false},
		"two plants":               {[]Tag{tag("HUEWARD:24:C-05"), tag("C-06")}, "C-05", true, false, true},
	} {
		got := Choose(c.tags)
		if got.Payload.Plant != c.plant || got.Found != c.found || got.Unreadable != c.unreadable || got.Rival != c.rival {
			t.Errorf("%s: Choose = %+v, want %q, found %v, unreadable %v, rival %v", name, got, c.plant, c.found, c.unreadable, c.rival)
		}
	}
}

// FuzzRead: small pictures of anything.
func FuzzRead(f *testing.F) {
	im := must.Have(drawCode(Payload{Plant: "C-05", MM: 24}, 3))(f)
	f.Add(uint8(im.Rect.Dx()), bytes.Clone(im.Pix))
	f.Add(uint8(40), ground("noise", 40, 40, 1).Pix)
	f.Add(uint8(0), []byte{})
	f.Add(uint8(30), make([]byte, 900))
	for y := 30; y < 45; y++ { // a finger on it
		for x := 40; x < 55; x++ {
			im.Pix[y*im.Stride+x] = 90
		}
	}
	f.Add(uint8(im.Rect.Dx()), im.Pix)
	f.Fuzz(func(t *testing.T, width uint8, pix []byte) {
		w := max(1, int(width))
		l := photo.Lightness{W: w, H: len(pix) / w, Pix: pix, DX: 1, DY: w}
		for _, g := range read(&l) {
			if g.PixelsPerMM(24) == 0 || g.Modules < 21 || g.Modules > 177 {
				t.Fatalf("read %+v", g)
			}
			Parse(g.Text)
		}
	})
}
