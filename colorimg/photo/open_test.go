package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"golang.org/x/image/tiff"
	"golang.org/x/image/webp"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// kind names the kind of an error.
func kind(err error) string {
	var r *RefusedError
	switch {
	case err == nil:
		return "none"
	case errors.As(err, &r):
		return string(r.Kind)
	}
	return "other"
}

func TestOpenFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "marigold.jpg")
	b := jpegBytes(t, noise(300, 200, 1), 92, Info{})
	must.OK(t, os.WriteFile(name, b, 0o600))
	p := must.Have(Open(context.Background(), name, &Options{Work: 100}))(t)
	if p.File != name || p.Format != "jpeg" || p.Width != 300 || p.Height != 200 || p.Profile != "sRGB" || !p.ProfileAssumed {
		t.Errorf("Open = %+v", p)
	}
	if !p.Taken.IsZero() || p.Camera != "" {
		t.Errorf("taken %v by %q, want neither", p.Taken, p.Camera)
	}
	l := p.Image
	if l.W != 100 || l.H != 67 || l.ScaleX != 3 || l.ScaleY != 200.0/67 || len(l.Pix) != 3*100*67 || len(l.Clipped) != 100*67 {
		t.Errorf("working picture %d × %d, scale %v, %v", l.W, l.H, l.ScaleX, l.ScaleY)
	}
}

// TestSHA256 compares with the digest that the program sha256sum prints.
func TestSHA256(t *testing.T) {
	p := open(t, "x.png", readTestFile(t, "lossy.webp.png"), nil)
	const want = "e4423b7fad23b0a2e2e4374676cbbf7088bc93b217981e4a7b2dd88494e56090"
	if p.SHA256 != want {
		t.Errorf("SHA256 = %s, want %s", p.SHA256, want)
	}
}

// hugeJPEG is a file of 500 bytes that claims 60000 × 60000 pixels.
func hugeJPEG() []byte {
	b := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 1, 0, 0, 1, 0, 1, 0, 0,
		0xff, 0xc0, 0, 17, 8, 0xea, 0x60, 0xea, 0x60, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1,
		0xff, 0xda, 0, 12, 3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0}
	return append(b, make([]byte, 500-len(b))...)
}

func hugePNG() []byte {
	b := []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR")
	b = binary.BigEndian.AppendUint32(b, 60000)
	b = binary.BigEndian.AppendUint32(b, 60000)
	b = append(b, 16, 6, 0, 0, 0)
	b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[12:29]))
	return append(b, make([]byte, 500-len(b))...)
}

func hugeTIFF() []byte {
	b := []byte("II*\x00\x08\x00\x00\x00\x06\x00")
	for _, e := range [][3]uint32{{256, 4, 60000}, {257, 4, 60000}, {258, 3, 8}, {259, 3, 1}, {262, 3, 1}, {277, 3, 1}} {
		b = binary.LittleEndian.AppendUint16(b, uint16(e[0]))
		b = binary.LittleEndian.AppendUint16(b, uint16(e[1]))
		b = binary.LittleEndian.AppendUint32(b, 1)
		b = binary.LittleEndian.AppendUint32(b, e[2])
	}
	return append(b, make([]byte, 500-len(b))...)
}

// hugeWebP claims 16383 × 16383, the most that the format can.
func hugeWebP() []byte {
	b := []byte("RIFF\xec\x01\x00\x00WEBPVP8L\xe0\x01\x00\x00\x2f")
	b = binary.LittleEndian.AppendUint32(b, 16382|16382<<14)
	return append(b, make([]byte, 500-len(b))...)
}

// TestHugeHeader: refused from the header, without memory being set aside.
func TestHugeHeader(t *testing.T) {
	for name, b := range map[string][]byte{"a.jpg": hugeJPEG(), "a.png": hugePNG(), "a.tif": hugeTIFF(), "a.webp": hugeWebP()} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := openBytes(context.Background(), name, b, (*Options)(nil).withDefaults())
		runtime.ReadMemStats(&after)
		if kind(err) != "too-large" {
			t.Errorf("%s: %v, want too large", name, err)
		}
		if n := after.TotalAlloc - before.TotalAlloc; n > 1<<20 {
			t.Errorf("%s: %d bytes were set aside for it, want at most 1 MiB", name, n)
		}
	}
}

func TestLimits(t *testing.T) {
	b := jpegBytes(t, noise(40, 30, 1), 80, Info{})
	name := filepath.Join(t.TempDir(), "x.jpg")
	must.OK(t, os.WriteFile(name, b, 0o600))
	n := int64(len(b))
	for _, c := range []struct {
		lim  Limits
		want string
	}{
		{Limits{}, "none"},
		{Limits{Pixels: 1200, Bytes: n}, "none"},
		{Limits{Pixels: 1199}, "too-large"},
		{Limits{Bytes: n - 1}, "too-large"},
	} {
		_, err := Open(context.Background(), name, &Options{Limits: c.lim})
		if got := kind(err); got != c.want {
			t.Errorf("limits %+v: %v (%s), want %s", c.lim, err, got, c.want)
		}
	}
}

// TestRefused: each kind of file that is no photo, its kind of error and a
// word of its line.
func TestRefused(t *testing.T) {
	ftyp := func(brands string) []byte {
		b := binary.BigEndian.AppendUint32(nil, uint32(8+len(brands)))
		return append(append(b, "ftyp"...), brands...)
	}
	cmyk := bytes.Clone(hugeJPEG())
	copy(cmyk[20:], []byte{0xff, 0xc0, 0, 20, 8, 0, 8, 0, 8, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0})
	for _, c := range []struct {
		name string
		data []byte
		kind string
		word string
	}{
		{"empty.jpg", nil, "broken", "empty"},
		{"zeros.jpg", make([]byte, 5000), "broken", "zeros"},
		{"note.jpg", []byte("dear diary, the marigolds are out\n"), "unsupported", "text"},
		{"umlaut.jpg", []byte(strings.Repeat("ü", 2000)), "unsupported", "text"},
		{"drawing.svg", []byte(`<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>`), "unsupported", "SVG"},
		{"page.jpg", []byte("<!DOCTYPE html><title>404</title>"), "unsupported", "web page"},
		{"random.jpg", []byte{1, 2, 3, 0xfe, 0xff, 9, 9, 9, 9, 9, 9, 9, 9}, "unsupported", "known format"},
		{"a.heic", ftyp("heic\x00\x00\x00\x00mif1heic"), "unsupported", "still"},
		{"b.heic", ftyp("mif1\x00\x00\x00\x00mif1heic"), "unsupported", "still"},
		{"c.heic", ftyp("heix\x00\x00\x00\x00"), "unsupported", "JPEG"},
		{"a.avif", ftyp("mif1\x00\x00\x00\x00mif1avif"), "unsupported", "AVIF"},
		{"a.mp4", ftyp("isom\x00\x00\x00\x00isomavc1"), "unsupported", "video"},
		{"a.cr3", ftyp("crx \x00\x00\x00\x00crx isom"), "unsupported", "raw"},
		{"a.cr2", []byte("II*\x00\x10\x00\x00\x00CR\x02\x00"), "unsupported", "raw"},
		{"a.gif", []byte("GIF89a\x01\x00\x01\x00"), "unsupported", "GIF"},
		{"a.jxl", []byte("\xff\x0a\x00\x00"), "unsupported", "JPEG XL"},
		{"a.pdf", []byte("%PDF-1.7\n"), "unsupported", "PDF"},
		{"cmyk.jpg", cmyk, "unsupported", "print"},
		{"glass.png", pngBytes(t, plainImage(4, 4, color.NRGBA{R: 200, G: 100, B: 50, A: 128})), "unsupported", "see-through"},
		{"short.jpg", []byte{0xff, 0xd8}, "broken", "cut short"},
		{"short.png", []byte("\x89PNG"), "broken", "cut short"},
		{"short.tif", []byte("II*"), "broken", "cut short"},
		{"short.ftyp", []byte("\x00\x00\x00\x00ftyp"), "unsupported", "media"},
	} {
		_, err := openBytes(context.Background(), c.name, c.data, (*Options)(nil).withDefaults())
		if kind(err) != c.kind || !strings.Contains(err.Error(), c.word) {
			t.Errorf("%s: %v (%s), want %s with %q", c.name, err, kind(err), c.kind, c.word)
			continue
		}
		s := err.Error()
		if strings.ContainsAny(s, "\n\r") || !strings.HasPrefix(s, c.name+": ") || !strings.Contains(s, "; ") {
			t.Errorf("%s: error is not one line of file: reason; hint: %q", c.name, s)
		}
	}
}

func TestFileErrors(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(context.Background(), dir, nil); kind(err) != "unsupported" || !strings.Contains(err.Error(), "folder") {
		t.Errorf("a folder: %v", err)
	}
	missing := filepath.Join(dir, "missing.jpg")
	_, err := Open(context.Background(), missing, nil)
	if !errors.Is(err, fs.ErrNotExist) || strings.Count(err.Error(), missing) != 1 {
		t.Errorf("a missing file: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Open(ctx, missing, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("an ended context: %v", err)
	}
}

// TestUnreadableFile needs a user whom permissions bind.
func TestUnreadableFile(t *testing.T) {
	if os.Getuid() == 0 {
		// The superuser reads everything: check at least how the error is worded.
		err := fileError("x.jpg", &fs.PathError{Op: "open", Path: "x.jpg", Err: syscall.EACCES})
		if !errors.Is(err, fs.ErrPermission) || err.Error() != "x.jpg: cannot be read: permission denied" {
			t.Errorf("fileError = %v", err)
		}
		return
	}
	name := filepath.Join(t.TempDir(), "x.jpg")
	must.OK(t, os.WriteFile(name, []byte("x"), 0))
	if _, err := Open(context.Background(), name, nil); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("an unreadable file: %v", err)
	}
}

// countdown is a context that ends after some looks at it.
type countdown struct {
	context.Context
	left *atomic.Int64
}

func (c countdown) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// TestOpenEnds: whenever the context ends, that is what Open says, and no
// photo comes back.
func TestOpenEnds(t *testing.T) {
	b := jpegBytes(t, noise(200, 150, 1), 92, Info{})
	for n := range 12 {
		var left atomic.Int64
		left.Store(int64(n))
		p, err := openBytes(countdown{context.Background(), &left}, "x.jpg", b,
			Options{Work: 50, Limits: Limits{Pixels: 1e6, Bytes: 1e6}})
		if left.Load() >= 0 {
			break // it was never asked so often
		}
		if p != nil || !errors.Is(err, context.Canceled) {
			t.Errorf("ended at look %d: %v, %v", n, p, err)
		}
	}
}

// samples are sound files of each format; those that no Go package writes lie
// in testdata, made with ImageMagick 6.9.11.
func samples(t testing.TB) map[string][]byte {
	im := noise(67, 45, 1)
	var tif bytes.Buffer
	must.OK(t, tiff.Encode(&tif, im, &tiff.Options{Compression: tiff.Deflate, Predictor: true}))
	return map[string][]byte{
		"base.jpg":        jpegBytes(t, im, 90, Info{Orientation: 6, ICC: p3Profile, Make: "Acorn"}),
		"progressive.jpg": readTestFile(t, "progressive.jpg"),
		"x.png":           withICC(t, pngBytes(t, im), srgbProfile),
		"x.tif":           tif.Bytes(),
		"lossy.webp":      readTestFile(t, "lossy.webp"),
		"lossless.webp":   readTestFile(t, "lossless.webp"),
	}
}

// TestTruncated: a file cut anywhere is broken, never a photo of half grey.
// Of a PNG the last chunk, of a TIFF the resolution at its end, and of a WebP
// the padding, may go without harm.
func TestTruncated(t *testing.T) {
	for name, b := range samples(t) {
		open(t, name, b, nil) // whole, it opens
		spare := map[string]int{"x.png": 12, "x.tif": 16, "lossless.webp": 1, "lossy.webp": 1}[name]
		step := max(1, len(b)/300)
		for n := len(b) - 1; n > 12; n -= step {
			p, err := openBytes(context.Background(), name, b[:n], (*Options)(nil).withDefaults())
			if err == nil && n >= len(b)-spare {
				continue
			}
			if p != nil || kind(err) != "broken" {
				t.Errorf("%s cut to %d of %d bytes: %v (%s), want broken", name, n, len(b), err, kind(err))
				break
			}
		}
	}
}

// TestTIFF: 8 and 16 bits and a profile, against the pixels by At.
func TestTIFF(t *testing.T) {
	im16 := image.NewNRGBA64(image.Rect(0, 0, 40, 30))
	src := noise(40, 30, 3)
	for y := range 30 {
		for x := range 40 {
			c := src.NRGBAAt(x, y)
			im16.SetNRGBA64(x, y, color.NRGBA64{R: uint16(c.R)*257 - uint16(x)*3, G: uint16(c.G) * 257, B: uint16(c.B) * 251, A: 65535})
		}
	}
	for _, im := range []image.Image{src, im16} {
		var b bytes.Buffer
		must.OK(t, tiff.Encode(&b, im, nil))
		p := open(t, "x.tif", b.Bytes(), &Options{Work: 13})
		if p.Format != "tiff" || !p.ProfileAssumed {
			t.Errorf("format %q, assumed %v", p.Format, p.ProfileAssumed)
		}
		if d := furthest(t, p.Image, slow(im, assumedSRGB().curve[0], 1, 13)); d > 3e-7 {
			t.Errorf("%T differs by %.3g, want at most 3e-7", im, d)
		}
	}
}

// TestWebPLossy compares with ImageMagick 6.9.11 (libwebp), whose reading of
// testdata/lossy.webp is testdata/lossy.webp.png: four plain patches, because
// libwebp smooths the chroma at edges. A lossy WebP's luma runs from 16 to 235;
// read as a JPEG's it is some 5 units off.
func TestWebPLossy(t *testing.T) {
	got := open(t, "lossy.webp", readTestFile(t, "lossy.webp"), nil)
	want := open(t, "lossy.webp.png", readTestFile(t, "lossy.webp.png"), nil)
	if got.Format != "webp" || got.Width != 128 || got.Height != 32 {
		t.Errorf("format %q, %d × %d", got.Format, got.Width, got.Height)
	}
	for x := 16; x < 128; x += 32 {
		g, w := got.Image.lab(x, 16), want.Image.lab(x, 16)
		if d := cie.DeltaE2000(g, w); !(d < 0.5) { // both have rounded to 8 bits
			t.Errorf("patch at %d is %.2f, ImageMagick reads %.2f: ΔE00 %.3f, want at most 0.5", x, g, w, d)
		}
	}
}

// TestWebPLossless opens an extended WebP with alpha.
func TestWebPLossless(t *testing.T) {
	b := readTestFile(t, "lossless.webp")
	im := must.Have(webp.Decode(bytes.NewReader(b)))(t)
	got := open(t, "lossless.webp", b, &Options{Work: 9}).Image
	if d := furthest(t, got, slow(im, cie.Linear, 1, 9)); d > 3e-7 {
		t.Errorf("differs by %.3g, want at most 3e-7", d)
	}
}

// FuzzOpen: no bytes make Open panic, set aside much memory or give a photo
// with wrong sizes.
func FuzzOpen(f *testing.F) {
	for _, b := range samples(f) {
		f.Add(b)
		f.Add(b[:len(b)/2])
	}
	for _, n := range append(heicFixtures, "pq") {
		b := readTestFile(f, n+".heic")
		f.Add(b)
		f.Add(b[:len(b)/2])
	}
	for _, b := range [][]byte{hugeJPEG(), hugePNG(), hugeTIFF(), hugeWebP()} {
		f.Add(b)
	}
	o := Options{Work: 32, Limits: Limits{Pixels: 1 << 18, Bytes: 1 << 20}}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := openBytes(context.Background(), "x", b, o)
		if err != nil {
			if k := kind(err); k == "other" || p != nil {
				t.Fatalf("%v, %v", p, err)
			}
			if strings.ContainsAny(err.Error(), "\n\r") {
				t.Errorf("error of several lines: %q", err)
			}
			return
		}
		l := p.Image
		if l.W < 1 || l.H < 1 || max(l.W, l.H) > 32 || len(l.Pix) != 3*l.W*l.H || len(l.Clipped) != l.W*l.H || l.ScaleX < 1 ||
			l.ScaleY < 1 {
			t.Fatalf("working picture %d × %d of %d × %d", l.W, l.H, p.Width, p.Height)
		}
		for _, v := range l.Pix {
			if !(v > -50 && v < 50) {
				t.Fatalf("value %v by profile %q", v, p.Profile)
			}
		}
	})
}

// TestRawInTIFF: a TIFF that leads with a thumbnail, or says it is a DNG, is a
// raw file; its thumbnail is not measured.
func TestRawInTIFF(t *testing.T) {
	for _, e := range [][3]uint32{{254, 4, 1}, {50706, 1, 0x0401}} {
		entries := [][3]uint32{{256, 4, 2}, {257, 4, 2}, {258, 3, 8}, {259, 3, 1}, {262, 3, 1}, {273, 4, 8}, {277, 3, 1}, {278, 4, 2},
			{279, 4, 4}, e}
		slices.SortFunc(entries, func(a, b [3]uint32) int { return int(a[0]) - int(b[0]) })
		b := append([]byte("II*\x00\x0c\x00\x00\x00"), 1, 2, 3, 4, byte(len(entries)), 0)
		for _, f := range entries {
			b = binary.LittleEndian.AppendUint16(b, uint16(f[0]))
			b = binary.LittleEndian.AppendUint16(b, uint16(f[1]))
			b = binary.LittleEndian.AppendUint32(b, 1)
			b = binary.LittleEndian.AppendUint32(b, f[2])
		}
		b = append(b, 0, 0, 0, 0)
		if _, err := openBytes(context.Background(), "x.dng", b, (*Options)(nil).withDefaults()); kind(err) != "unsupported" ||
			!strings.Contains(err.Error(), "raw") {
			t.Errorf("tag %d: %v, want a raw file refused", e[0], err)
		}
	}
}
