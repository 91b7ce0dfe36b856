package photo

import (
	"bytes"
	"encoding/binary"
	"image/color"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/bep/imagemeta"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

func TestCaptureTime(t *testing.T) {
	east := time.FixedZone("", 2*3600)
	for _, c := range []struct {
		digits, zone string
		want         time.Time
	}{
		{"2024:07:30 14:05:09", "", time.Date(2024, 7, 30, 14, 5, 9, 0, time.UTC)},
		{"2024:07:30 14:05:09", "+02:00", time.Date(2024, 7, 30, 14, 5, 9, 0, east)},
		{"2024:07:30 14:05:09", "nonsense", time.Date(2024, 7, 30, 14, 5, 9, 0, time.UTC)},
		{"2024:07:30 14:05:09 ", " +02:00 ", time.Date(2024, 7, 30, 14, 5, 9, 0, east)},
		{"0000:00:00 00:00:00", "", time.Time{}}, // a camera whose clock was never set
		{"    :  :     :  :  ", "", time.Time{}}, // "unknown", by the standard
		{"2024:13:30 14:05:09", "", time.Time{}},
		{"", "+02:00", time.Time{}},
	} {
		got := captureTime(c.digits, c.zone)
		if !got.Equal(c.want) || got.IsZero() != c.want.IsZero() {
			t.Errorf("captureTime(%q, %q) = %v, want %v", c.digits, c.zone, got, c.want)
		}
		if !c.want.IsZero() && got.Format("15:04") != "14:05" {
			t.Errorf("captureTime(%q, %q) shows %s, want the camera's own clock", c.digits, c.zone, got.Format("15:04"))
		}
	}
}

func TestCameraName(t *testing.T) {
	for _, c := range []struct{ brand, model, want string }{
		{"Acorn", "Leaf 3", "Acorn Leaf 3"},
		{"Acorn", "Acorn Leaf 3", "Acorn Leaf 3"},
		{"ACORN CORPORATION", "Acorn Leaf 3", "Acorn Leaf 3"},
		{"", "Leaf 3", "Leaf 3"},
		{"Acorn\x00\x00", "", "Acorn"},
		{"  ", " \n", ""},
		{"Acorn\x1b[31m", "<b>\xff", "Acorn[31m <b>"},
	} {
		if got := cameraName(c.brand, c.model); got != c.want {
			t.Errorf("cameraName(%q, %q) = %q, want %q", c.brand, c.model, got, c.want)
		}
	}
}

// TestWriteJPEGReadBack reads what WriteJPEG wrote, with our own reader and
// with the library's JPEG reader, which goes another way.
func TestWriteJPEGReadBack(t *testing.T) {
	taken := time.Date(2025, 8, 2, 9, 41, 7, 0, time.FixedZone("", -(3*3600+30*60)))
	long := bytes.Repeat([]byte("petal "), 30000) // needs three segments
	info := Info{Orientation: 6, Taken: taken, Make: "Acorn", Model: "Leaf 3", ICC: long, GPS: true}
	b := jpegBytes(t, noise(32, 24, 1), 80, info)

	p := open(t, "x.jpg", b, nil)
	if p.Camera != "Acorn Leaf 3" || !p.Taken.Equal(taken) || p.Width != 24 || p.Height != 32 {
		t.Errorf("read back camera %q, taken %v, %d × %d; want %q, %v, 24 × 32", p.Camera, p.Taken, p.Width, p.Height, "Acorn Leaf 3",
			taken)
	}
	f := jpegFacts(b)
	if !bytes.Equal(f.icc, long) || f.iccBad {
		t.Errorf("profile read back has %d bytes (bad: %v), want %d", len(f.icc), f.iccBad, len(long))
	}

	tags := map[string]any{}
	_, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(b), ImageFormat: imagemeta.JPEG, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(imagemeta.TagInfo) bool { return true },
		HandleTag:       func(ti imagemeta.TagInfo) error { tags[ti.Tag] = ti.Value; return nil },
	})
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range map[string]any{
		"Orientation": uint16(6), "Make": "Acorn", "Model": "Leaf 3",
		"DateTimeOriginal": "2025:08:02 09:41:07", "OffsetTimeOriginal": "-03:30",
		"GPSLatitude": 12 + 34.0/60 + 56.0/3600, "GPSLongitudeRef": "W",
	} {
		if tags[k] != want {
			t.Errorf("library reads %s = %v, want %v", k, tags[k], want)
		}
	}
}

// TestWriteJPEGSparse: any choice of fields makes a block that reads back.
func TestWriteJPEGSparse(t *testing.T) {
	utc := time.Date(2023, 5, 6, 7, 8, 9, 0, time.UTC)
	for i := range 16 {
		var info Info
		if i&1 != 0 {
			info.Taken = utc
		}
		if i&2 != 0 {
			info.Model = "L3"
		}
		if i&4 != 0 {
			info.Orientation = 8
		}
		info.GPS = i&8 != 0
		p := open(t, "x.jpg", jpegBytes(t, noise(9, 5, 1), 80, info), nil)
		w := 9
		if info.Orientation == 8 {
			w = 5
		}
		if !p.Taken.Equal(info.Taken) || p.Camera != info.Model || p.Width != w {
			t.Errorf("%+v reads back as taken %v, camera %q, width %d", info, p.Taken, p.Camera, p.Width)
		}
	}
	if err := WriteJPEG(&bytes.Buffer{}, noise(2, 2, 1), 80, Info{Orientation: 9}); err == nil {
		t.Error("orientation 9 was written")
	}
}

// TestEXIFDamaged: no photo fails for its EXIF block, wherever it is cut or
// changed; the pixels stay what they are.
func TestEXIFDamaged(t *testing.T) {
	info := Info{Orientation: 3, Taken: time.Date(2025, 8, 2, 9, 41, 7, 0, time.UTC), Make: "Acorn", Model: "Leaf 3"}
	sound := must.Have(exifBlock(info))(t)
	im := plainImage(8, 8, wideOrange)
	file := pngBytes(t, im)
	want := open(t, "x.png", file, nil).Image
	try := func(what string, block []byte) {
		t.Helper()
		p := open(t, "x.png", withChunk(file, "eXIf", block), nil)
		if d := furthest(t, p.Image, want); d > 1e-6 {
			t.Errorf("%s: pixels differ by %.3g", what, d)
		}
	}
	for n := range sound {
		try("cut", sound[:n])
		for _, v := range []byte{0, 0xff, sound[n] + 1} {
			b := bytes.Clone(sound)
			b[n] = v
			try("changed", b)
		}
	}
}

// dcf is an EXIF block that says no more than the colour space; index: that of its interoperability directory; empty: none.
func dcf(space uint16, index string) []byte {
	le := binary.LittleEndian
	b := append([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x69\x87\x04\x00\x01\x00\x00\x00\x1a\x00\x00\x00"), 0, 0, 0, 0)
	b = append(b, byte(1+min(len(index), 1)), 0, 0x01, 0xa0, 3, 0, 1, 0, 0, 0)
	b = append(le.AppendUint16(b, space), 0, 0)
	if index != "" {
		b = append(b, 0x05, 0xa0, 4, 0, 1, 0, 0, 0, 0x38, 0, 0, 0, 0, 0, 0, 0)
		b = append(append(b, 1, 0, 1, 0, 2, 0, 4, 0, 0, 0), index+"\x00"...)
	}
	return append(b, 0, 0, 0, 0)
}

// TestDCFSpace: a camera that is set to Adobe RGB writes no profile, but says so by DCF's index R03; read as sRGB, its reds
// and greens were too pale. A space that is not told is told as not known.
func TestDCFSpace(t *testing.T) {
	file := pngBytes(t, plainImage(8, 8, color.NRGBA{G: 255, A: 255}))
	for _, c := range []struct {
		space   uint16
		index   string
		profile string
		damaged bool
	}{{0xffff, "R03", "Adobe RGB (1998)", false}, {0xffff, "", "sRGB", true}, {0xffff, "R98", "sRGB", true}, {1, "R98", "sRGB", false},
		{1, "R03", "sRGB", false}} {
		p := open(t, "x.png", withChunk(file, "eXIf", dcf(c.space, c.index)), nil)
		if p.Profile != c.profile || p.ProfileDamaged != c.damaged || p.ProfileAssumed != (c.profile == "sRGB") {
			t.Errorf("space %#x, index %q: %q, assumed %v, damaged %v", c.space, c.index, p.Profile, p.ProfileAssumed, p.ProfileDamaged)
		}
		// Adobe RGB (1998)'s green, by B. Lindbloom's matrix (from memory).
		want := cie.XYZ{X: 0.1855540, Y: 0.6273491, Z: 0.0706879}.Lab()
		if c.profile != "sRGB" && cie.DeltaE2000(p.Image.lab(0, 0), want) > 0.1 {
			t.Errorf("green is %.2f, want %.2f", p.Image.lab(0, 0), want)
		}
	}
}

func FuzzEXIF(f *testing.F) {
	for o := range 9 {
		b, err := exifBlock(Info{Orientation: o, Taken: time.Date(2025, 8, 2, 9, 41, 7, 0, time.UTC), Make: "Acorn", Model: "Leaf",
			GPS: o > 4})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte("II*\x00\x08\x00\x00\x00"))
	f.Fuzz(func(t *testing.T, b []byte) {
		c := readEXIF(b)
		if c.orientation < 1 || c.orientation > 8 {
			t.Errorf("orientation %d", c.orientation)
		}
		if c.camera != plain(c.camera, 200) {
			t.Errorf("camera %q is not fit to be shown", c.camera)
		}
	})
}

// TestIdentify: ImageMagick reads the written facts and profile as well.
func TestIdentify(t *testing.T) {
	needProgram(t, "identify")
	name := filepath.Join(t.TempDir(), "x.jpg")
	info := Info{Orientation: 8, Taken: time.Date(2025, 8, 2, 9, 41, 7, 0, time.UTC), Make: "Acorn", Model: "Leaf 3",
		ICC: p3Profile}
	must.OK(t, os.WriteFile(name, jpegBytes(t, noise(16, 8, 1), 80, info), 0o600))
	out, err := exec.Command("identify", "-format",
		"%[EXIF:Orientation]|%[EXIF:DateTimeOriginal]|%[EXIF:Make]|%[EXIF:Model]|%[icc:description]", name).Output()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := string(out), "8|2025:08:02 09:41:07|Acorn|Leaf 3|Display P3"; got != want {
		t.Errorf("identify reads %q, want %q", got, want)
	}
}
