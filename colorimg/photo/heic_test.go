package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
)

// heicFixtures are made by heif-enc 1.15.1 out of our own drawn pot marigold; see
// testdata/README.md.
var heicFixtures = []string{"marigold", "deep", "deep420", "odd", "grey", "greytiles", "alpha", "rgb"}

func decodeHEIC(t testing.TB, b []byte) image.Image {
	t.Helper()
	im := must.Have(heicDecode(&ctxReader{ctx: context.Background(), r: bytes.NewReader(b)}))(t)
	return im
}

// uprightHEIC is the decoded picture as it is displayed.
func uprightHEIC(t testing.TB, b []byte) image.Image {
	t.Helper()
	im, turn := decodeHEIC(t, b), heicFacts(b).turn
	sw, sh := im.Bounds().Dx(), im.Bounds().Dy()
	w, h := turn.size(sw, sh)
	out := image.NewNRGBA64(image.Rect(0, 0, w, h))
	at := pixelsOf(im, false)
	for y := range sh {
		for x := range sw {
			dx, dy := turn.at(x, y, sw, sh)
			out.SetNRGBA64(dx, dy, at(x, y))
		}
	}
	return out
}

// heifConvert is the picture by the program of that name, from Debian's
// libheif-examples.
func heifConvert(t *testing.T, b []byte) image.Image {
	t.Helper()
	needProgram(t, "heif-convert")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.heic"), filepath.Join(dir, "out.png")
	must.OK(t, os.WriteFile(in, b, 0o600))
	if msg, err := exec.Command("heif-convert", in, out).CombinedOutput(); err != nil {
		t.Fatalf("heif-convert: %v\n%s", err, msg)
	}
	f := must.Have(os.Open(out))(t)
	defer f.Close()
	im := must.Have(png.Decode(f))(t)
	return im
}

// apart are the differences of two pictures' stored values, in steps of 1/255,
// channel by channel; of every step-th pixel of every step-th row.
func apart(t *testing.T, a, b image.Image, step int) (median, mean [3]float64) {
	t.Helper()
	if a.Bounds().Size() != b.Bounds().Size() {
		t.Fatalf("pictures are %v and %v", a.Bounds(), b.Bounds())
	}
	w, h := a.Bounds().Dx(), a.Bounds().Dy()
	pa, pb := pixelsOf(a, false), pixelsOf(b, false)
	var d [3][]float64
	for y := 0; y < h; y += step {
		for x := 0; x < w; x += step {
			p, q := pa(x, y), pb(x, y)
			for k, v := range [3]int{int(p.R) - int(q.R), int(p.G) - int(q.G), int(p.B) - int(q.B)} {
				mean[k] += float64(v) / 257
				d[k] = append(d[k], math.Abs(float64(v))/257)
			}
		}
	}
	for k := range d {
		slices.Sort(d[k])
		median[k], mean[k] = d[k][len(d[k])/2], mean[k]/float64(len(d[k]))
	}
	return median, mean
}

// agree checks a decoded picture against heif-convert's: within one step in the
// median and, but for what the decoder's cut to 8 bits leaves, without a shift.
func agree(t *testing.T, name string, got, want image.Image, step int) {
	t.Helper()
	median, mean := apart(t, got, want, step)
	t.Logf("%s: median difference %.3f, mean %.3f, in steps of 1/255", name, median, mean)
	for k := range 3 {
		if !(median[k] <= 1) || !(math.Abs(mean[k]) <= 1) {
			t.Errorf("%s: channel %d differs from heif-convert by %.3f/255 in the median and %.3f/255 in the mean, want at most 1 and 1",
				name, k, median[k], mean[k])
		}
	}
}

// TestHEICConvert: every fixture, and one cut, and turned and mirrored in each
// way, against heif-convert.
func TestHEICConvert(t *testing.T) {
	for _, n := range heicFixtures {
		b := readTestFile(t, n+".heic")
		agree(t, n, uprightHEIC(t, b), heifConvert(t, b), 1)
	}
	for _, c := range [][4]uint32{{100, 60, 0, 0}, {101, 61, 3, 0xfffffffe}} { // width and height, right and down of the middle
		var clap []byte
		for _, v := range c {
			clap = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(clap, v), 1)
		}
		b := withProperty(t, readTestFile(t, "marigold.heic"), "clap", clap)
		agree(t, fmt.Sprintf("cut to %d × %d", c[0], c[1]), uprightHEIC(t, b), heifConvert(t, b), 1)
	}
	for _, c := range heicTurns {
		b := turnedHEIC(t, c.kind, c.how)
		agree(t, fmt.Sprintf("%s %d", c.kind, c.how), uprightHEIC(t, b), heifConvert(t, b), 1)
	}
}

var heicTurns = []struct {
	kind string
	how  byte
	exif orientation // that does the same
}{{"irot", 0, 1}, {"irot", 1, 8}, {"irot", 2, 3}, {"irot", 3, 6}, {"imir", 0, 4}, {"imir", 1, 2}}

// turnedHEIC is the fixture with a rotation (quarters anticlockwise) or a
// mirror instead of its depths, a property of the same length.
func turnedHEIC(t testing.TB, kind string, how byte) []byte {
	t.Helper()
	b := bytes.Clone(readTestFile(t, "marigold.heic"))
	at := bytes.Index(b, []byte("pixi"))
	if at < 0 {
		t.Fatal("the fixture has no pixi box")
	}
	copy(b[at:], kind)
	b[at+4] = how
	return b
}

// TestHEICTurns: the container's rotation and mirror give what the same
// picture gives by an EXIF orientation, and its own EXIF orientation (6) is
// not applied on top.
//
// Source: ISO/IEC 23008-12 sections 6.5.10 (rotation) and 6.5.12 (mirror; 0 swaps
// top and bottom, as libheif reads it); from memory.
func TestHEICTurns(t *testing.T) {
	plain := decodeHEIC(t, readTestFile(t, "marigold.heic"))
	e := must.Have(profileEncoding(p3Profile, false))(t)
	for _, c := range heicTurns {
		want := must.Have(reduce(context.Background(), plain, e, c.exif, 1024, false))(t)
		p := open(t, "x.heic", turnedHEIC(t, c.kind, c.how), nil)
		if w, h := c.exif.size(120, 90); p.Width != w || p.Height != h {
			t.Errorf("%s %d: %d × %d, want %d × %d", c.kind, c.how, p.Width, p.Height, w, h)
			continue
		}
		// The chroma samples of a turned picture fall elsewhere at its odd edges.
		if d := furthest(t, p.Image, want); !(d < 0.02) {
			t.Errorf("%s %d: differs by %.4f of white from orientation %d, want at most 0.02", c.kind, c.how, d, c.exif)
		}
	}
}

// TestHEICColors: means of stored values in squares of 16 pixels: the ground and a
// petal. It needs no other program.
//
// Source: heif-convert 1.15.1, and the mean by ImageMagick 6.9.11.
func TestHEICColors(t *testing.T) {
	for _, c := range []struct {
		file string
		x, y int
		want [3]float64
	}{
		{"marigold", 0, 0, [3]float64{210.537, 203.537, 195.035}},
		{"marigold", 52, 36, [3]float64{216.677, 152.630, 75.206}},
		{"deep", 0, 0, [3]float64{209.004, 203.276, 194.809}},
		{"deep", 52, 36, [3]float64{215.689, 152.444, 75.175}},
		{"deep420", 52, 36, [3]float64{216.374, 152.389, 75.012}},
		{"rgb", 0, 0, [3]float64{213.471, 200.405, 185.117}},
		{"grey", 20, 6, [3]float64{199.957, 199.957, 199.957}},
	} {
		im := decodeHEIC(t, readTestFile(t, c.file+".heic"))
		at := pixelsOf(im, false)
		var got [3]float64
		for y := c.y; y < c.y+16; y++ {
			for x := c.x; x < c.x+16; x++ {
				p := at(x, y)
				for k, v := range [3]uint16{p.R, p.G, p.B} {
					got[k] += float64(v) / 257 / 256
				}
			}
		}
		for k := range 3 {
			if !(math.Abs(got[k]-c.want[k]) <= 0.6) {
				t.Errorf("%s at (%d, %d) is %.2f, want %.2f ± 0.6", c.file, c.x, c.y, got, c.want)
				break
			}
		}
	}
}

// TestHEICFacts: what the containers of the fixtures say, as heif-info and
// their encoder's options have it.
func TestHEICFacts(t *testing.T) {
	for _, c := range []struct {
		name    string
		w, h    int
		profile string
		assumed bool
	}{
		{"marigold", 120, 90, "Display P3", false},
		{"deep", 120, 90, "sRGB", true},
		{"deep420", 120, 90, "sRGB", true},
		{"odd", 37, 23, "sRGB", true},
		{"grey", 80, 64, "sRGB", true},
		{"alpha", 37, 23, "sRGB", true},
		{"rgb", 37, 23, "sRGB", true},
	} {
		p := open(t, c.name, readTestFile(t, c.name+".heic"), nil)
		if p.Format != "heic" || p.Width != c.w || p.Height != c.h ||
			p.Profile != c.profile || p.ProfileAssumed != c.assumed || p.ProfileDamaged {
			p.Image = nil
			t.Errorf("%s: %+v, want %+v", c.name, *p, c)
		}
		if c.name != "marigold" {
			continue
		}
		if want := time.Date(2026, 7, 30, 14, 5, 9, 0, time.FixedZone("", 7200)); !p.Taken.Equal(want) || p.Camera != "Made Up 1" {
			t.Errorf("taken %v by %q, want %v by Made Up 1", p.Taken, p.Camera, want)
		}
	}
}

// withProperty adds a property to the container and to its item 1.
func withProperty(t testing.TB, b []byte, kind string, data []byte) []byte {
	t.Helper()
	b = bytes.Clone(b)
	p := append(binary.BigEndian.AppendUint32(nil, uint32(8+len(data))), kind...)
	p = append(p, data...)
	grow := func(at, n int) { // the size of the box whose kind is at that place
		binary.BigEndian.PutUint32(b[at-4:], binary.BigEndian.Uint32(b[at-4:])+uint32(n))
	}
	find := func(kind string) int {
		at := bytes.Index(b, []byte(kind))
		if at < 0 {
			t.Fatalf("no %s box in the fixture", kind)
		}
		return at
	}
	properties := 0
	ipco := find("ipco")
	size := int(binary.BigEndian.Uint32(b[ipco-4:]))
	for at := ipco + 4; at < ipco-4+size; at += int(binary.BigEndian.Uint32(b[at:])) {
		properties++
	}
	// Boxes after the properties move, and so does the picture: see that all its
	// places are given by a base of 4 bytes.
	iloc := find("iloc")
	if b[iloc+4] != 0 || b[iloc+8] != 0x44 || b[iloc+9] != 0x40 {
		t.Fatalf("the fixture's iloc is version %d with sizes %#x %#x", b[iloc+4], b[iloc+8], b[iloc+9])
	}
	n := int(binary.BigEndian.Uint16(b[iloc+10:]))
	for i := range n {
		e := b[iloc+12+18*i:]
		binary.BigEndian.PutUint32(e[4:], binary.BigEndian.Uint32(e[4:])+uint32(len(p)+1))
	}
	grow(ipco, len(p))
	grow(find("iprp"), len(p)+1)
	grow(find("meta"), len(p)+1)
	ipma := find("ipma")
	grow(ipma, 1)
	b[ipma+14]++
	b = slices.Insert(b, ipma+15+int(b[ipma+14])-1, byte(properties+1))
	return slices.Insert(b, ipco-4+size, p...)
}

func nclx(primaries, transfer, matrix uint16, flags byte) []byte {
	b := []byte("nclx")
	for _, v := range []uint16{primaries, transfer, matrix} {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return append(b, flags)
}

// TestHEICCodePoints: code points in the container, with and without a profile,
// and in the coded picture.
func TestHEICCodePoints(t *testing.T) {
	base, withProfile := readTestFile(t, "deep420.heic"), readTestFile(t, "marigold.heic")
	for _, c := range []struct {
		name    string
		b       []byte
		profile string
		assumed bool
		damaged bool
		refused string
	}{
		{"sRGB", withProperty(t, base, "colr", nclx(1, 13, 6, 0x80)), "sRGB", false, false, ""},
		{"BT.709", withProperty(t, base, "colr", nclx(1, 1, 6, 0x80)), "sRGB", false, false, ""},
		{"Display P3", withProperty(t, base, "colr", nclx(12, 13, 6, 0x80)), "Display P3", false, false, ""},
		{"BT.2020", withProperty(t, base, "colr", nclx(9, 14, 6, 0x80)), "BT.2020", false, false, ""},
		{"unspecified", withProperty(t, base, "colr", nclx(2, 2, 6, 0x80)), "sRGB", true, false, ""},
		{"log", withProperty(t, base, "colr", nclx(1, 9, 6, 0x80)), "sRGB", true, true, ""},
		{"PQ", withProperty(t, base, "colr", nclx(9, 16, 9, 0x80)), "", false, false, "PQ"},
		{"HLG", withProperty(t, base, "colr", nclx(9, 18, 9, 0x80)), "", false, false, "HLG"},
		{"PQ with a profile", withProperty(t, withProfile, "colr", nclx(12, 16, 6, 0x80)), "", false, false, "PQ"},
		{"a profile first", withProperty(t, withProfile, "colr", nclx(1, 13, 6, 0x80)), "Display P3", false, false, ""},
		{"PQ in the coded picture", readTestFile(t, "pq.heic"), "", false, false, "PQ"},
		{"a matrix of no kind", withProperty(t, base, "colr", nclx(1, 13, 14, 0x80)), "", false, false, "matrix 14"},
	} {
		p, err := openBytes(context.Background(), c.name, c.b, (*Options)(nil).withDefaults())
		if c.refused != "" {
			if kind(err) != "unsupported" || !strings.Contains(err.Error(), c.refused) {
				t.Errorf("%s: %v, want a refusal with %q", c.name, err, c.refused)
			}
			continue
		}
		if err != nil || p.Profile != c.profile || p.ProfileAssumed != c.assumed || p.ProfileDamaged != c.damaged {
			t.Errorf("%s: %v, %+v, want %q (assumed: %v, damaged: %v)", c.name, err, p, c.profile, c.assumed, c.damaged)
		}
	}
}

// TestHEICRange: the container's range and matrix count before those that the
// coded picture says itself, as heif-convert has it. (The ten-bit sample of
// TestHEICSamples is a camera's in which the two differ.)
func TestHEICRange(t *testing.T) {
	base := readTestFile(t, "deep420.heic")
	plain := decodeHEIC(t, base)
	narrow := withProperty(t, base, "colr", nclx(1, 13, 6, 0))
	if median, _ := apart(t, plain, decodeHEIC(t, narrow), 1); slices.Max(median[:]) < 5 {
		t.Errorf("another range in the container changes the picture by %.3f/255 only", median)
	}
	agree(t, "another range", decodeHEIC(t, narrow), heifConvert(t, narrow), 1)
	b := withProperty(t, base, "colr", nclx(1, 13, 1, 0x80))
	if median, _ := apart(t, plain, decodeHEIC(t, b), 1); slices.Max(median[:]) < 0.5 {
		t.Errorf("another matrix in the container changes the picture by %.3f/255 only", median)
	}
	agree(t, "another matrix", decodeHEIC(t, b), heifConvert(t, b), 1)
}

// TestHEICBrands: the main brand does not matter, as long as the picture is there.
func TestHEICBrands(t *testing.T) {
	b := bytes.Clone(readTestFile(t, "marigold.heic"))
	want := open(t, "x", b, nil)
	for _, brand := range []string{"mif1", "heix", "msf1", "hevc"} {
		copy(b[8:], brand)
		if d := furthest(t, open(t, brand, b, nil).Image, want.Image); d != 0 {
			t.Errorf("brand %s: differs by %v", brand, d)
		}
	}
	copy(b[8:], "avif")
	if _, err := openBytes(context.Background(), "a.avif", b, (*Options)(nil).withDefaults()); kind(err) != "unsupported" {
		t.Errorf("avif: %v", err)
	}
}

// TestHEICSamples: the real photos, against heif-convert. That program of Debian
// 12 does not open the file with a gain map because of a description of its two
// pictures together; with that reference renamed, it does, and shows the ordinary one.
func TestHEICSamples(t *testing.T) {
	if os.Getenv("HUEWARD_FULL") == "" {
		t.Skip("it fetches photos and takes minutes: set HUEWARD_FULL=1")
	}
	dir := t.TempDir()
	names := []string{"desk_p3", "aloe_10bit", "phone_adaptive"}
	args := append([]string{"../../testdata/photos/fetch.sh", "--samples", dir}, names...)
	if msg, err := exec.Command("bash", args...).CombinedOutput(); err != nil {
		t.Fatalf("fetch.sh: %v\n%s", err, msg)
	}
	for _, c := range []struct {
		file          string
		w, h          int // heif-info, turned
		camera        string
		profile       string
		cdscToBeFound bool
	}{
		{"desk_p3.heic", 3024, 4032, "Apple iPhone 11 Pro", "Display P3", false},
		{"aloe_10bit.heif", 4128, 6192, "SONY ILCE-6700", "sRGB", false},
		{"phone_adaptive.heic", 5712, 4284, "Apple iPhone 15 Pro", "Display P3", true},
	} {
		b := must.Have(os.ReadFile(filepath.Join(dir, c.file)))(t)
		p := open(t, c.file, b, nil)
		if p.Width != c.w || p.Height != c.h || p.Camera != c.camera || p.Profile != c.profile || p.ProfileAssumed {
			t.Errorf("%s: %d × %d by %q, profile %q (assumed: %v), want %+v", c.file, p.Width, p.Height, p.Camera, p.Profile, p.ProfileAssumed, c)
		}
		ref := b
		if c.cdscToBeFound {
			ref = bytes.ReplaceAll(b, []byte("cdsc"), []byte("xdsc"))
		}
		agree(t, c.file, uprightHEIC(t, b), heifConvert(t, ref), 7)
	}
}
