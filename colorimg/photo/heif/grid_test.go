package heif

import (
	"bytes"
	"context"
	"encoding/binary"
	"testing"
)

// gridOf makes a container of a grid whose tiles are all the one coded picture of the fixture, with properties for the grid.
func gridOf(t testing.TB, name string, columns, rows, w, h int, own ...property) []byte {
	t.Helper()
	p := read(t, name)
	data, err := p.meta.data(p.tiles[0], 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	be := binary.BigEndian
	var hvcC []byte
	for _, prop := range p.meta.properties(p.tiles[0]) {
		if prop.kind == "hvcC" {
			hvcC = prop.data
		}
	}
	size := func(w, h int) []byte { return be.AppendUint32(be.AppendUint32(make([]byte, 4), uint32(w)), uint32(h)) }
	properties := [][]byte{box("ispe", size(w, h)), box("ispe", size(p.coded.width, p.coded.height)), box("hvcC", hvcC)}
	ofGrid := []byte{1}
	for _, prop := range own {
		properties = append(properties, box(prop.kind, prop.data))
		ofGrid = append(ofGrid, byte(len(properties)))
	}
	n := columns * rows
	infos := [][]byte{{0, 0, 0, 0, 0, byte(n + 1)}, box("infe", []byte{2, 0, 0, 0, 0, 1, 0, 0}, []byte("grid\x00"))}
	refs := be.AppendUint16([]byte{0, 1}, uint16(n))
	maps := [][]byte{{0, 0, 0, 0, 0, 0, 0, byte(n + 1), 0, 1, byte(len(ofGrid))}, ofGrid}
	for i := range n {
		infos = append(infos, box("infe", []byte{2, 0, 0, 0, 0, byte(2 + i), 0, 0}, []byte("hvc1\x00")))
		refs = be.AppendUint16(refs, uint16(2+i))
		maps = append(maps, []byte{0, byte(2 + i), 2, 2, 3})
	}
	grid := []byte{0, 0, byte(rows - 1), byte(columns - 1)}
	grid = be.AppendUint16(be.AppendUint16(grid, uint16(w)), uint16(h))
	meta := func(offset int) []byte {
		places := [][]byte{{1, 0, 0, 0, 0x44, 0, 0, byte(n + 1)}, {0, 1, 0, 1, 0, 0, 0, 1, 0, 0, 0, 0}, be.AppendUint32(nil, uint32(len(grid)))}
		for i := range n {
			place := be.AppendUint32(be.AppendUint32(nil, uint32(offset)), uint32(len(data)))
			places = append(places, []byte{0, byte(2 + i), 0, 0, 0, 0, 0, 1}, place)
		}
		return box("meta", make([]byte, 4), box("hdlr", make([]byte, 8), []byte("pict"), make([]byte, 13)),
			box("pitm", []byte{0, 0, 0, 0, 0, 1}), box("iinf", infos...), box("iref", make([]byte, 4), box("dimg", refs)),
			box("iprp", box("ipco", properties...), box("ipma", maps...)), box("idat", grid), box("iloc", places...))
	}
	ftyp := box("ftyp", []byte("heic\x00\x00\x00\x00mif1heic"))
	return join([][]byte{ftyp, meta(len(ftyp) + len(meta(0)) + 8), box("mdat", data)})
}

func decode(t testing.TB, b []byte) (*Picture, *Samples) {
	t.Helper()
	p, err := Read(b)
	if err != nil {
		t.Fatal(err)
	}
	s, err := p.Decode(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return p, s
}

// TestGrid: each tile lies in its place, what reaches beyond the picture is left out, and what is cut away too.
func TestGrid(t *testing.T) {
	t.Parallel()
	const tile = 64
	_, one := decode(t, gridOf(t, "odd", 1, 1, tile, tile))
	clap := []byte{}
	for _, v := range []uint32{71, 1, 60, 1, 5, 2, 0xfffffffd, 1} { // 71 × 60, 2.5 right and 3 up of the middle
		clap = binary.BigEndian.AppendUint32(clap, v)
	}
	for _, c := range []struct {
		name        string
		own         []property
		w, h, turn  int // as read
		left, upper int // cut away
	}{
		{"whole", nil, 150, 117, 1, 0, 0},
		{"turned", []property{{"irot", []byte{1}}}, 150, 117, 8, 0, 0},
		// floor(2.5 + (150 - 71) / 2) and floor(-3 + (117 - 60) / 2)
		{"cut", []property{{"clap", clap}}, 71, 60, 1, 42, 25},
		// Turned a quarter anticlockwise, stored x runs upwards: floor(2.5 + (117 - 71) / 2) of 117 are cut at stored y's start,
		// and floor(-3 + (150 - 60) / 2) of 150 at stored x's end.
		{"turned, then cut", []property{{"irot", []byte{1}}, {"clap", clap}}, 60, 71, 8, 150 - 42 - 60, 25},
		{"mirrored, then cut", []property{{"imir", []byte{1}}, {"clap", clap}}, 71, 60, 2, 150 - 42 - 71, 25},
	} {
		p, s := decode(t, gridOf(t, "odd", 3, 2, 150, 117, c.own...))
		if p.Width != c.w || p.Height != c.h || p.Turn != c.turn || s.Kind != YCbCr420 {
			t.Errorf("%s: %d × %d turned by %d, kind %d, want %+v", c.name, p.Width, p.Height, p.Turn, s.Kind, c)
			continue
		}
		for y := range p.Height {
			for x := range p.Width {
				sx, sy := (x+c.left)%tile, (y+c.upper)%tile
				if got, want := s.Y[y*s.Stride+x], one.Y[sy*one.Stride+sx]; got != want {
					t.Fatalf("%s: luma at (%d, %d) is %d, want %d", c.name, x, y, got, want)
				}
				cx, cy := x/2, y/2
				sx, sy = (cx+c.left/2)%(tile/2), (cy+c.upper/2)%(tile/2)
				if got, want := s.Cr[cy*s.CStride+cx], one.Cr[sy*one.CStride+sx]; got != want {
					t.Fatalf("%s: chroma at (%d, %d) is %d, want %d", c.name, cx, cy, got, want)
				}
			}
		}
	}
}

// TestGridRefused: tiles that are turned one by one are not handled, and a cut beyond the picture is damage.
func TestGridRefused(t *testing.T) {
	t.Parallel()
	clap := bytes.Repeat([]byte{0, 0, 0, 200, 0, 0, 0, 1}, 4)
	if _, err := Read(gridOf(t, "odd", 2, 2, 128, 128, property{"clap", clap})); err == nil {
		t.Error("a cut of 200 × 200 out of 128 × 128 is taken")
	}
}

// BenchmarkDecode is the decoding of a picture of 225 small tiles.
func BenchmarkDecode(b *testing.B) {
	file := gridOf(b, "odd", 15, 15, 15*64, 15*64)
	decode(b, file)
	for b.Loop() {
		decode(b, file)
	}
	b.ReportMetric(float64(b.N)*15*15*64*64/1e6/b.Elapsed().Seconds(), "megapixels/s")
}

// BenchmarkStart is what the first picture of a program costs beside: with code kept by an earlier one, and without.
func BenchmarkStart(b *testing.B) {
	dir := b.TempDir()
	for _, c := range []struct{ name, dir string }{{"compiled", ""}, {"kept", dir}} {
		b.Run(c.name, func(b *testing.B) {
			if _, err := loadModule("", c.dir); err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if _, err := loadModule("", c.dir); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
