package photo

import (
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
)

// heif is what a HEIC file says of its main picture, before it is decoded.
type heif struct {
	meta   *meta
	item   *item
	coded  coded
	pixels int64 // stored, the most of any picture that must be decoded
	stored image.Point
	w, h   int // as displayed
	tiles  int
	codes  *codePoints // of the container, else of the coded picture; nil: none
	full   bool        // range of the coded values
	matrix int
	icc    []byte
	iccBad bool
}

// deepest is how many pictures may be made of one another.
const deepest = 4

// largestEXIF bounds an EXIF item; a phone's holds a thumbnail at most.
const largestEXIF = 8 << 20

// readHEIF reads the container. Which picture is the main one, its size and
// its colours are read here and not by the decoder, which has no say in them.
//
// A phone's file with a gain map holds an ordinary picture, the main one, and
// beside it what a bright screen adds to it: the ordinary picture is taken.
//
// Source: ISO/IEC 23008-12 sections 6.2 to 6.6; from memory.
func readHEIF(b []byte) (*heif, error) {
	m, err := readMeta(b)
	if err != nil {
		return nil, err
	}
	if !m.found {
		return nil, &unhandled{"holds a sequence of pictures without a still one", hintHEIC}
	}
	if m.handler != "pict" {
		return nil, &unhandled{"holds no picture", hintHEIC}
	}
	it := m.items[m.primary]
	if it == nil {
		return nil, fmt.Errorf("main picture %d: %w", m.primary, io.ErrUnexpectedEOF)
	}
	f := &heif{meta: m, item: it}
	tile, err := f.look(it, 0)
	if err != nil {
		return nil, err
	}
	if err := f.readSize(); err != nil {
		return nil, err
	}
	f.readColors(tile)
	return f, nil
}

// look checks the coded pictures that it is made of, and returns the first.
func (f *heif) look(it *item, depth int) (*item, error) {
	if depth == deepest {
		return nil, badContainer("pictures made of one another")
	}
	switch it.kind {
	case "hvc1":
		return it, f.lookCoded(it)
	case "grid", "iden":
	case "av01":
		return nil, &unhandled{"is an AVIF picture, which is not handled", hintJPEG}
	case "":
		return nil, badContainer("a picture that is not there")
	default:
		return nil, &unhandled{fmt.Sprintf("holds a picture of the kind %q, which is not handled", plain(it.kind, 8)), hintHEIC}
	}
	if len(it.parts) == 0 || len(it.parts) > mostItems || it.kind == "iden" && len(it.parts) > 1 {
		return nil, badContainer("%q of %d pictures", it.kind, len(it.parts))
	}
	if it.kind == "grid" && depth > 0 {
		return nil, badContainer("a grid of grids")
	}
	var first *item
	for _, id := range it.parts {
		part := f.meta.items[id]
		if part == nil {
			return nil, badContainer("a part that is not there")
		}
		if f.tiles++; f.tiles > mostItems {
			return nil, badContainer("more than %d parts", mostItems)
		}
		c, err := f.look(part, depth+1)
		if err != nil {
			return nil, err
		}
		if first == nil {
			first = c
		}
	}
	return first, nil
}

func (f *heif) lookCoded(it *item) error {
	if !f.meta.inside(it) {
		return io.ErrUnexpectedEOF
	}
	for _, p := range f.meta.properties(it) {
		if p.kind != "hvcC" {
			continue
		}
		c, ok := readCoded(p.data)
		if !ok {
			return badContainer("a picture's own header")
		}
		if f.coded.width == 0 {
			f.coded = c
		} else if c != f.coded {
			return badContainer("parts of different kinds")
		}
		f.pixels = max(f.pixels, int64(c.width)*int64(c.height))
		return nil
	}
	return badContainer("a picture without its header")
}

// readSize works out the displayed size from the stored one and what is to be
// done to it, in the order in which it is to be done.
func (f *heif) readSize() error {
	for _, p := range f.meta.properties(f.item) {
		if p.kind == "ispe" && len(p.data) >= 12 {
			w, h := binary.BigEndian.Uint32(p.data[4:]), binary.BigEndian.Uint32(p.data[8:])
			if w > math.MaxInt32 || h > math.MaxInt32 {
				return badContainer("size %d × %d", w, h)
			}
			f.w, f.h = int(w), int(h)
			break
		}
	}
	if f.w == 0 || f.h == 0 {
		return badContainer("no size")
	}
	f.stored = image.Pt(f.w, f.h)
	f.pixels = max(f.pixels, int64(f.w)*int64(f.h))
	for _, p := range f.meta.properties(f.item) {
		switch {
		case p.kind == "irot" && len(p.data) > 0 && p.data[0]&1 == 1:
			f.w, f.h = f.h, f.w
		case p.kind == "clap" && len(p.data) >= 32:
			w, h := fraction(p.data), fraction(p.data[8:])
			if !(w >= 1 && h >= 1 && w <= float64(f.w) && h <= float64(f.h)) {
				return badContainer("cut to %.1f × %.1f", w, h)
			}
			f.w, f.h = int(w+0.5), int(h+0.5)
		}
	}
	return nil
}

// covered checks, before decoding, that the coded pictures are as large as the main one, so that no
// pixel of it is made up.
func (f *heif) covered() error {
	if f.item.kind != "grid" {
		if f.coded.width != f.stored.X || f.coded.height != f.stored.Y {
			return badContainer("size %v, coded %d × %d", f.stored, f.coded.width, f.coded.height)
		}
		return nil
	}
	// Source: ISO/IEC 23008-12 section 6.6.2.3; from memory.
	b, err := f.meta.data(f.item, 64)
	if err != nil {
		return err
	}
	r := &bytesIn{b: b}
	r.take(1)
	wide := r.number(1)&1 != 0
	rows, columns := int(r.number(1))+1, int(r.number(1))+1
	w, h := int(r.number(wider(wide))), int(r.number(wider(wide)))
	if r.short || rows*columns != len(f.item.parts) || w != f.stored.X || h != f.stored.Y || columns*f.coded.width < w || rows*f.coded.height < h {
		return badContainer("grid of %d × %d for %v", columns, rows, f.stored)
	}
	if f.coded.chroma == 0 {
		// The decoder offers it in a form that it then cannot make.
		return &unhandled{"is a grey picture in tiles, which is not handled", hintJPEG}
	}
	return nil
}

func fraction(b []byte) float64 {
	return float64(int32(binary.BigEndian.Uint32(b))) / float64(int32(binary.BigEndian.Uint32(b[4:])))
}

// readColors reads the profile and the code points of the main picture, of its
// first tile where it has none itself, or of the coded picture.
func (f *heif) readColors(tile *item) {
	for _, it := range []*item{f.item, tile} {
		for _, p := range f.meta.properties(it) {
			if p.kind != "colr" || len(p.data) < 4 {
				continue
			}
			switch data := p.data[4:]; string(p.data[:4]) {
			case "prof", "rICC":
				if f.icc == nil {
					f.icc, f.iccBad = data, len(data) > largestProfile
				}
			case "nclx":
				if f.codes == nil && len(data) >= 7 {
					at := func(i int) int { return int(binary.BigEndian.Uint16(data[i:])) }
					f.codes = &codePoints{primaries: at(0), transfer: at(2), matrix: at(4)}
					f.full, f.matrix = data[6]&0x80 != 0, f.codes.matrix
				}
			}
		}
	}
	if f.codes == nil || f.coded.ranged {
		// Cameras are seen whose container says 16 to 235 while the pictures, by their
		// own word and by their darkest and brightest pixels, use 0 to 255.
		f.full = f.coded.full
	}
	if f.codes == nil {
		c := f.coded.codes
		f.matrix = c.matrix
		if f.icc == nil {
			f.codes = &c
		}
	}
}

// exif returns the EXIF block that describes the main picture, from its TIFF
// header on.
func (f *heif) exif() []byte {
	for id, it := range f.meta.items {
		if it.kind != "Exif" {
			continue
		}
		for _, of := range it.of {
			if of != f.meta.primary {
				continue
			}
			b, err := f.meta.data(f.meta.items[id], largestEXIF)
			if err != nil || len(b) < 4 {
				return nil
			}
			skip := uint64(binary.BigEndian.Uint32(b))
			if b = b[4:]; skip > uint64(len(b)) {
				return nil
			}
			return b[skip:]
		}
	}
	return nil
}

// heicConfig gives the displayed size.
func heicConfig(r io.Reader) (image.Config, error) {
	b, err := io.ReadAll(r)
	if err != nil {
		return image.Config{}, err
	}
	f, err := readHEIF(b)
	if err != nil {
		return image.Config{}, err
	}
	c := image.Config{Width: f.w, Height: f.h, ColorModel: color.YCbCrModel}
	if f.coded.chroma == 0 {
		c.ColorModel = color.GrayModel
	}
	return c, nil
}

// heicFacts reads what the container says. The decoder turns and mirrors the
// picture as the container asks; its EXIF orientation, which repeats that, is
// not to be applied again.
//
// Source: ISO/IEC 23008-12 annex A.2.1 (the container's word goes before EXIF's); from memory.
func heicFacts(b []byte) facts {
	f, err := readHEIF(b)
	if err != nil {
		return facts{}
	}
	return facts{exif: f.exif(), icc: f.icc, iccBad: f.iccBad, codes: f.codes, upright: true, pixels: f.pixels, gray: f.coded.chroma == 0}
}

// heicDecode decodes the main picture, upright.
func heicDecode(r io.Reader) (image.Image, error) {
	c, ok := r.(*ctxReader)
	if !ok {
		return nil, fmt.Errorf("heic: reader of type %T", r)
	}
	b, err := io.ReadAll(c)
	if err != nil {
		return nil, err
	}
	f, err := readHEIF(b)
	if err != nil {
		return nil, err
	}
	if err := f.covered(); err != nil {
		return nil, err
	}
	k, ok := ycbcrOf(f.matrix, f.full, f.coded.bits)
	if !ok {
		return nil, &unhandled{fmt.Sprintf("states its colours in a way that is not handled (matrix %d)", f.matrix), hintHEIC}
	}
	raw, err := runHEIC(c.ctx, b, f)
	if err != nil {
		return nil, err
	}
	return raw.image(k)
}
