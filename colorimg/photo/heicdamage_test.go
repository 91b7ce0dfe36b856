package photo

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestHEICDamaged: a file cut anywhere, or with its sizes made wrong, is refused
// with one line of the right kind, and nothing large is set aside for it.
func TestHEICDamaged(t *testing.T) {
	sound := readTestFile(t, "marigold.heic")
	for n := 12; n < len(sound); n += 41 {
		_, err := openBytes(context.Background(), "cut.heic", sound[:n], (*Options)(nil).withDefaults())
		if k := kind(err); k != "broken" && k != "unsupported" {
			t.Errorf("cut to %d of %d bytes: %v (%s), want a refusal", n, len(sound), err, k)
		}
	}
	with := func(find string, skip int, v string) []byte {
		b := bytes.Clone(sound)
		at := bytes.Index(b, []byte(find))
		if at < 0 {
			t.Fatalf("no %q in the fixture", find)
		}
		copy(b[at+len(find)+skip:], v)
		return b
	}
	loop := bytes.Clone(readTestFile(t, "odd.heic"))
	at := bytes.Index(loop, []byte("dimg\x00\x02\x00\x01\x00\x01"))
	if at < 0 {
		t.Fatal("no grid in the fixture")
	}
	loop[at+9] = 2 // the grid is made of itself
	short := bytes.Clone(readTestFile(t, "odd.heic"))
	at = bytes.Index(short, []byte("idat"))
	short[at+7] = 1 // one more column than there are tiles
	for _, c := range []struct {
		name, kind string
		b          []byte
	}{
		{"too few tiles", "broken", short},
		{"huge", "too large", with("ispe", 4, "\x00\x00\xea\x60\x00\x00\xea\x60")},
		{"endless", "broken", with("ispe", 4, "\xff\xff\xff\xff")},
		{"no size", "broken", with("ispe", 4, "\x00\x00\x00\x00")},
		{"larger than coded", "broken", with("ispe", 4, "\x00\x00\x01\x00")},
		{"no main picture", "broken", with("pitm", 4, "\x00\x09")},
		{"grey tiles", "unsupported", readTestFile(t, "greytiles.heic")},
		{"another codec", "unsupported", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "avc1")},
		{"av1", "unsupported", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "av01")},
		{"a grid without tiles", "broken", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "grid")},
		{"its own tile", "broken", loop},
		{"box of 3 bytes", "broken", with("iprp", -8, "\x00\x00\x00\x03")},
		{"no picture", "unsupported", with("hdlr", 8, "soun")},
		{"no meta", "unsupported", with("meta", -4, "free")},
		{"chroma of no kind", "broken", with("hvcC", 22+5+4, "\xff\xff\xff\xff\xff\xff")},
	} {
		start := time.Now()
		_, err := openBytes(context.Background(), c.name, c.b, (*Options)(nil).withDefaults())
		if kind(err) != c.kind {
			t.Errorf("%s: %v (%s), want %s", c.name, err, kind(err), c.kind)
			continue
		}
		if s := err.Error(); strings.ContainsAny(s, "\n\r") || !strings.Contains(s, "; ") {
			t.Errorf("%s: not one line of reason and hint: %q", c.name, s)
		}
		t.Logf("%s: %v (%v)", c.name, err, time.Since(start).Round(time.Millisecond))
	}
}

// TestHEICEnds: an ended context ends the wait for the decoder.
func TestHEICEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	b := readTestFile(t, "marigold.heic")
	f, err := readHEIF(b)
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	if _, err := runHEIC(ctx, b, f); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("an ended context: %v", err)
	}
	if _, err := heicDecode(&ctxReader{ctx: ctx, r: bytes.NewReader(b)}); !errors.Is(err, context.Canceled) {
		t.Errorf("an ended context: %v", err)
	}
}

// TestHEICDecoderOrigin: the decoder is the one of the module that it is taken from.
func TestHEICDecoderOrigin(t *testing.T) {
	out, err := exec.Command("go", "mod", "download", "-json", "github.com/gen2brain/heic@v0.4.5").Output()
	_, dir, ok := strings.Cut(string(out), `"Dir": "`)
	need(t, err == nil && ok, "the source of github.com/gen2brain/heic")
	dir, _, _ = strings.Cut(dir, `"`)
	want, err := os.ReadFile(filepath.Join(dir, "lib", "heif.wasm.gz"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, heifWasm) {
		t.Error("libheif/heif.wasm.gz is not that of the module")
	}
}

// TestReadCoded reads sequence parameter sets of a phone and of a camera; sizes
// and depths are those that heif-info prints of their pictures.
func TestReadCoded(t *testing.T) {
	for _, c := range []struct {
		name string
		want coded
	}{
		{"marigold", coded{width: 120, height: 90, chroma: 1, bits: 8, ranged: true, full: true}},
		{"deep", coded{width: 120, height: 90, chroma: 2, bits: 10, ranged: true, full: true}},
		{"odd", coded{width: 64, height: 64, chroma: 1, bits: 8, ranged: true, full: true}},
		{"grey", coded{width: 80, height: 64, chroma: 0, bits: 8, ranged: true, full: true}},
	} {
		f, err := readHEIF(readTestFile(t, c.name+".heic"))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got := f.coded
		got.codes = codePoints{}
		if got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// FuzzHEIC reads containers only; FuzzOpen decodes too.
func FuzzHEIC(f *testing.F) {
	for _, n := range append(heicFixtures, "pq") {
		f.Add(readTestFile(f, n+".heic"))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		h, err := readHEIF(b)
		if err != nil {
			var u *unhandled
			if !errors.Is(err, errContainer) && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.As(err, &u) {
				t.Errorf("error of no kind: %v", err)
			}
			return
		}
		if h.w < 1 || h.h < 1 || h.pixels < 1 {
			t.Errorf("%d × %d, %d pixels", h.w, h.h, h.pixels)
		}
		if len(h.exif()) > largestEXIF {
			t.Error("a large EXIF block")
		}
		_ = heicFacts(b)
	})
}

func BenchmarkHEIC(b *testing.B) {
	data := readTestFile(b, "marigold.heic")
	decodeHEIC(b, data)
	for b.Loop() {
		decodeHEIC(b, data)
	}
}

// BenchmarkHEICStart is what the first HEIC photo of a program costs beside.
func BenchmarkHEICStart(b *testing.B) {
	for b.Loop() {
		if _, err := loadDecoder(); err != nil {
			b.Fatal(err)
		}
	}
}
