package heif

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
)

// fixture reads a file of those that colorimg/photo tests with; its testdata/README.md says how they are made.
func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "testdata", name+".heic"))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func read(t testing.TB, name string) *Picture {
	t.Helper()
	p, err := Read(fixture(t, name))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return p
}

// TestDecodeEnds: an ended context ends the wait for the decoder.
func TestDecodeEnds(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, name := range []string{"marigold", "odd"} {
		if _, err := read(t, name).Decode(ctx); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: an ended context: %v", name, err)
		}
	}
}

// TestDecoderOrigin: the decoder is the one of the module that it is taken from.
func TestDecoderOrigin(t *testing.T) {
	t.Parallel()
	out, err := exec.Command("go", "mod", "download", "-json", "github.com/gen2brain/heic@v0.4.5").Output()
	_, dir, ok := strings.Cut(string(out), `"Dir": "`)
	if err != nil || !ok {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatalf("the source of github.com/gen2brain/heic is needed: %v", err)
		}
		t.Skip("the source of github.com/gen2brain/heic is not here")
	}
	dir, _, _ = strings.Cut(dir, `"`)
	want, err := os.ReadFile(filepath.Join(dir, "lib", "heif.wasm.gz"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, libheif) {
		t.Error("libheif/heif.wasm.gz is not that of the module")
	}
}

// TestReadCoded reads sequence parameter sets of a phone and of a camera; sizes
// and depths are those that heif-info prints of their pictures.
func TestReadCoded(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		want coded
	}{
		{"marigold", coded{width: 120, height: 90, chroma: 1, bits: 8, full: true}},
		{"deep", coded{width: 120, height: 90, chroma: 2, bits: 10, full: true}},
		{"odd", coded{width: 64, height: 64, chroma: 1, bits: 8, full: true}},
		{"grey", coded{width: 80, height: 64, chroma: 0, bits: 8, full: true}},
	} {
		got := read(t, c.name).coded
		got.codes = CodePoints{}
		if got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// FuzzRead reads containers only; FuzzOpen of colorimg/photo decodes too.
func FuzzRead(f *testing.F) {
	for _, n := range []string{"marigold", "deep", "deep420", "odd", "grey", "greytiles", "alpha", "rgb", "pq"} {
		f.Add(fixture(f, n))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Read(b)
		if err != nil {
			var u *UnsupportedError
			if !errors.Is(err, errContainer) && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.As(err, &u) {
				t.Errorf("error of no kind: %v", err)
			}
			return
		}
		if p.Width < 1 || p.Height < 1 || p.Pixels < 1 || p.Turn < 1 || p.Turn > 8 {
			t.Errorf("%d × %d turned by %d, %d pixels", p.Width, p.Height, p.Turn, p.Pixels)
		}
		if p.cut.Min.X < 0 || p.cut.Min.Y < 0 || p.cut.Max.X > p.stored.X || p.cut.Max.Y > p.stored.Y {
			t.Errorf("%v is cut out of %v", p.cut, p.stored)
		}
		if len(p.EXIF) > largestEXIF {
			t.Error("a large EXIF block")
		}
		if p.covered() == nil {
			for _, it := range p.tiles {
				if _, err := p.single(it); err != nil && !errors.Is(err, errContainer) && !errors.Is(err, io.ErrUnexpectedEOF) {
					t.Errorf("a tile that cannot be taken out: %v", err)
				}
			}
		}
	})
}

// TestMemoryAgain: a sandbox in the memory that another one left gives the same samples as one in fresh memory, and none
// gets more than its limit.
func TestMemoryAgain(t *testing.T) {
	t.Parallel()
	m, err := decoder()
	if err != nil {
		t.Fatal(err)
	}
	samples := func(name string, s *sandbox) []byte {
		p := read(t, name)
		file, err := p.single(p.tiles[0])
		if err != nil {
			t.Fatal(err)
		}
		if err := s.start(m); err != nil {
			t.Fatal(err)
		}
		defer s.close()
		_, pix, err := s.decode(file, p.coded.width, p.coded.height)
		if err != nil {
			t.Fatal(err)
		}
		return bytes.Clone(pix)
	}
	again, small := &sandbox{limit: 64 << 20}, &sandbox{limit: 256 << 10}
	for _, name := range []string{"deep", "marigold", "odd", "deep"} {
		if !bytes.Equal(samples(name, again), samples(name, &sandbox{limit: 64 << 20})) {
			t.Errorf("%s: other samples in memory that was used before", name)
		}
	}
	if err := small.start(m); err == nil {
		p := read(t, "deep")
		file, _ := p.single(p.tiles[0])
		if _, _, err := small.decode(file, p.coded.width, p.coded.height); err == nil || len(small.memory) > 256<<10 {
			t.Errorf("with a limit of 256 KiB %d bytes are used: %v", len(small.memory), err)
		}
	}
}
