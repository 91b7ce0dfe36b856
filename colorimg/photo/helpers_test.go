package photo

import (
	"bytes"
	"compress/zlib"
	"context"
	_ "embed"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// Profiles of the two common spaces, version 4, with the tags that a display
// profile must have (ICC.1:2022 section 8.4.3).
var (
	//go:embed testdata/srgb.icc
	srgbProfile []byte
	//go:embed testdata/p3.icc
	p3Profile []byte
)

// appendFixed appends a number as a profile writes it: 16 bits before the point, 16 after.
func appendFixed(b []byte, v float64) []byte {
	return binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
}

// textTag is a tag of one text, in English letters.
func textTag(s string) []byte {
	b := []byte("mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS")
	b = binary.BigEndian.AppendUint32(b, uint32(2*len(s)))
	b = binary.BigEndian.AppendUint32(b, 28)
	for _, r := range s {
		b = binary.BigEndian.AppendUint16(b, uint16(r))
	}
	return b
}

// need skips the test unless ok, or fails it where everything must be tried.
func need(t *testing.T, ok bool, what string) {
	t.Helper()
	if ok {
		return
	}
	if os.Getenv("HUEWARD_FULL") == "1" {
		t.Fatalf("%s is needed", what)
	}
	t.Skipf("%s is not here", what)
}

func needProgram(t *testing.T, name string) {
	t.Helper()
	_, err := exec.LookPath(name)
	need(t, err == nil, name)
}

// moduleDir is where the source of a module of go.mod lies, with its test files.
func moduleDir(t *testing.T, module string) string {
	t.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	dir := strings.TrimSpace(string(out))
	need(t, err == nil && dir != "", "the source of "+module)
	return dir
}

// open opens the bytes of a file that must be sound.
func open(t testing.TB, name string, b []byte, o *Options) *Photo {
	t.Helper()
	p, err := openBytes(context.Background(), name, b, o.withDefaults())
	if err != nil {
		t.Fatalf("open %s: %v", name, err)
	}
	return p
}

func pngBytes(t testing.TB, im image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, png.Encode(&b, im))
	return b.Bytes()
}

func jpegBytes(t testing.TB, im image.Image, q int, info Info) []byte {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, WriteJPEG(&b, im, q, info))
	return b.Bytes()
}

// withChunk inserts a chunk before the picture data of a PNG.
func withChunk(p []byte, kind string, data []byte) []byte {
	at := bytes.Index(p, []byte("IDAT")) - 4
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(append(c, kind...), data...)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	return bytes.Join([][]byte{p[:at], c, p[at:]}, nil)
}

// noise is a picture of w × h random pixels between soft gradients.
func noise(w, h int, seed uint64) *image.NRGBA {
	rnd := rand.New(rand.NewPCG(seed, 7))
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			im.SetNRGBA(x, y, color.NRGBA{
				R: uint8(min(255, x*255/w+rnd.IntN(60))), G: uint8(min(255, y*255/h+rnd.IntN(60))), B: uint8(rnd.IntN(256)), A: 255,
			})
		}
	}
	return im
}

// plain fills a picture with one colour.
func plainImage(w, h int, c color.Color) *image.NRGBA {
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			im.Set(x, y, c)
		}
	}
	return im
}

// lab is the colour of one working pixel.
func (l *Linear) lab(x, y int) cie.Lab {
	k := 3 * (y*l.W + x)
	return cie.SRGB.XYZ(cie.RGB{float64(l.Pix[k]), float64(l.Pix[k+1]), float64(l.Pix[k+2])}).Lab()
}

// furthest is the largest difference between two working pictures.
func furthest(t *testing.T, a, b *Linear) float64 {
	t.Helper()
	if a.W != b.W || a.H != b.H {
		t.Fatalf("working pictures are %d×%d and %d×%d", a.W, a.H, b.W, b.H)
	}
	d := 0.0
	for i := range a.Pix {
		v := math.Abs(float64(a.Pix[i] - b.Pix[i]))
		if !(v <= d) {
			d = v
		}
	}
	return d
}

// slow is the working picture by its definition: At for each pixel, the
// displayed place by hand, exact sums.
func slow(im image.Image, f func(float64) float64, orient, work int) *Linear {
	r := im.Bounds()
	sw, sh := r.Dx(), r.Dy()
	// The eight orientations as the standard words them: where the displayed
	// pixel (x, y) is stored.
	stored := func(x, y int) (int, int) { return x, y }
	dw, dh := sw, sh
	switch orient {
	case 2:
		stored = func(x, y int) (int, int) { return sw - 1 - x, y }
	case 3:
		stored = func(x, y int) (int, int) { return sw - 1 - x, sh - 1 - y }
	case 4:
		stored = func(x, y int) (int, int) { return x, sh - 1 - y }
	case 5:
		stored = func(x, y int) (int, int) { return y, x }
	case 6: // turned a quarter clockwise to be shown
		stored = func(x, y int) (int, int) { return y, sh - 1 - x }
	case 7:
		stored = func(x, y int) (int, int) { return sw - 1 - y, sh - 1 - x }
	case 8:
		stored = func(x, y int) (int, int) { return sw - 1 - y, x }
	}
	if orient >= 5 {
		dw, dh = sh, sw
	}
	w, h := workSize(dw, dh, work)
	l := &Linear{W: w, H: h, Pix: make([]float32, 3*w*h), Clipped: make([]uint8, w*h)}
	mid := f(128.0 / 255)
	for j := range h {
		for i := range w {
			var s [3]float64
			n, clip := 0.0, 0.0
			for y := int(math.Floor(float64(j*dh)/float64(h) + 0.5)); y < int(math.Floor(float64((j+1)*dh)/float64(h)+0.5)); y++ {
				for x := int(math.Floor(float64(i*dw)/float64(w) + 0.5)); x < int(math.Floor(float64((i+1)*dw)/float64(w)+0.5)); x++ {
					sx, sy := stored(x, y)
					c := stored16(im.At(r.Min.X+sx, r.Min.Y+sy))
					a := float64(c.A) / 65535
					for k, v := range []uint16{c.R, c.G, c.B} {
						s[k] += a*f(float64(v)/65535) + (1-a)*mid
					}
					if a > 0 && max(c.R, c.G, c.B) >= 65278 {
						clip++
					}
					n++
				}
			}
			k := j*w + i
			for c := range 3 {
				l.Pix[3*k+c] = float32(s[c] / n)
			}
			l.Clipped[k] = uint8(math.Round(255 * clip / n))
		}
	}
	return l
}

// stored16 is a pixel's stored value. A YCbCr one is converted by the formula of
// JFIF and rounded to 8 bits, with its constants to 16 binary places; package
// color rounds otherwise.
func stored16(c color.Color) color.NRGBA64 {
	var p color.YCbCr
	switch c := c.(type) {
	case color.YCbCr:
		p = c
	case color.NRGBA64:
		return c
	case color.NRGBA: // the model's conversion goes through premultiplied values
		return color.NRGBA64{R: uint16(c.R) * 257, G: uint16(c.G) * 257, B: uint16(c.B) * 257, A: uint16(c.A) * 257}
	default:
		return color.NRGBA64Model.Convert(c).(color.NRGBA64)
	}
	y, cb, cr := float64(p.Y), float64(p.Cb)-128, float64(p.Cr)-128
	v := func(v float64) uint16 { return uint16(min(max(math.Floor(v+0.5), 0), 255)) * 257 }
	const k = 65536
	return color.NRGBA64{
		R: v(y + math.Round(1.402*k)/k*cr),
		G: v(y - math.Round(0.34414*k)/k*cb - math.Round(0.71414*k)/k*cr),
		B: v(y + math.Round(1.772*k)/k*cb),
		A: 0xffff,
	}
}

func readTestFile(t testing.TB, name string) []byte {
	t.Helper()
	b := must.Have(os.ReadFile(filepath.Join("testdata", name)))(t)
	return b
}

func decodeJPEG(t testing.TB, b []byte) image.Image {
	t.Helper()
	im := must.Have(jpeg.Decode(bytes.NewReader(b)))(t)
	return im
}

// withICC puts a colour profile into a PNG.
func withICC(t testing.TB, p, icc []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("profile\x00\x00")
	z := zlib.NewWriter(&b)
	must.Have(z.Write(icc))(t)
	must.OK(t, z.Close())
	return withChunk(p, "iCCP", b.Bytes())
}
