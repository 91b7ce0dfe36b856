// Package heif reads still pictures coded by HEVC out of HEIF containers: the HEIC files of phones.
//
// Start with [Read], which returns what the container says about its main picture: size, orientation, profile, code
// points, EXIF. [Picture.Decode] then decodes its samples: luma and chroma, grey, or red, green and blue, all of 8 bits, as
// stored. This package finds the main picture, its tiles, and how it is cropped and turned; the tiles are decoded by
// libheif and libde265 in a sandbox (see libheif/README.md), several at a time.
//
// Sequences, AVIF, overlays and tiles that are turned by themselves are not handled. Alpha and gain maps are left out.
package heif

import (
	"encoding/binary"
	"fmt"
	"image"
	"io"
	"math"
)

// UnsupportedError is returned for a container that may be valid but is not handled: "holds a sequence of pictures …".
type UnsupportedError struct{ Reason string }

func (e *UnsupportedError) Error() string { return e.Reason }

func unhandled(format string, a ...any) error { return &UnsupportedError{fmt.Sprintf(format, a...)} }

// CodePoints are numbers for the colour space of a picture; 2 is "unspecified".
//
// Source: ITU-T H.273 tables 2 to 4; from memory.
type CodePoints struct{ Primaries, Transfer, Matrix int }

// Picture is what a container says about its main picture.
type Picture struct {
	Width, Height int         // as stored, after cropping and before turning
	Turn          int         // EXIF orientation by which it must be turned to be displayed, 1 to 8
	Pixels        int64       // of the largest picture that must be decoded or put together
	Gray          bool        // one channel
	Bits          int         // of a coded sample, of which the highest 8 are decoded
	Codes         *CodePoints // of the container, else of the coded picture; nil: none, or a profile instead
	Matrix        int         // by which luma and chroma are made
	Full          bool        // range of the coded values: 0 to 255, not 16 to 235
	ICC           []byte      // nil: none
	EXIF          []byte      // of the main picture, from its TIFF header on; nil: none

	meta    *meta
	main    *item
	base    *item   // main, or what it is another form of: a grid or a coded picture
	tiles   []*item // coded pictures, row by row
	columns int
	coded   coded
	stored  image.Point     // size of base
	cut     image.Rectangle // of base
	nclx    []byte          // the code points as they are written
}

// deepest is the largest depth of pictures derived from each other.
const deepest = 4

// largestEXIF bounds an EXIF item; a phone's holds a thumbnail at most.
const largestEXIF = 8 << 20

// Read reads the container. A file that is cut short gives an error that wraps [io.ErrUnexpectedEOF], one that is not
// handled an [*UnsupportedError], and any other error is damage.
//
// A phone's file with a gain map holds an ordinary picture, the main one, and beside it what a bright screen adds to it:
// the ordinary picture is taken.
//
// Source: ISO/IEC 23008-12 sections 6.2 to 6.6; from memory.
func Read(b []byte) (*Picture, error) {
	m, err := readMeta(b)
	if err != nil {
		return nil, err
	}
	if !m.found {
		return nil, unhandled("holds a sequence of pictures without a still one")
	}
	if m.handler != "pict" {
		return nil, unhandled("holds no picture")
	}
	it := m.items[m.primary]
	if it == nil {
		return nil, fmt.Errorf("main picture %d: %w", m.primary, io.ErrUnexpectedEOF)
	}
	for _, it := range m.items {
		if len(it.extents) > 0 && it.method <= 1 && !m.inside(it) {
			return nil, io.ErrUnexpectedEOF // the file is cut short, be it behind its main picture
		}
	}
	p := &Picture{meta: m, main: it}
	chain, err := p.look(it, 0)
	if err != nil {
		return nil, err
	}
	if err := p.readSize(chain); err != nil {
		return nil, err
	}
	p.readColors()
	p.EXIF = p.exif()
	return p, nil
}

// look finds the coded pictures of the item, and returns the items from it down to the grid or coded picture.
func (p *Picture) look(it *item, depth int) (chain []*item, err error) {
	if depth == deepest {
		return nil, badContainer("pictures made of one another")
	}
	switch it.kind {
	case "hvc1":
		p.tiles = append(p.tiles, it)
		if p.base == nil {
			p.base = it
		}
		return []*item{it}, p.lookCoded(it)
	case "grid", "iden":
	case "av01":
		return nil, unhandled("is an AVIF picture, which is not handled")
	case "":
		return nil, badContainer("a picture that is not there")
	default:
		return nil, unhandled("holds a picture of the kind %q, which is not handled", it.kind)
	}
	if len(it.parts) == 0 || len(it.parts) > mostItems || it.kind == "iden" && len(it.parts) > 1 {
		return nil, badContainer("%q of %d pictures", it.kind, len(it.parts))
	}
	grid := it.kind == "grid"
	if grid && p.base != nil {
		return nil, badContainer("a grid of grids")
	}
	if grid {
		p.base = it
	}
	for _, id := range it.parts {
		part := p.meta.items[id]
		if part == nil {
			return nil, badContainer("a part that is not there")
		}
		if len(p.tiles) == mostItems {
			return nil, badContainer("more than %d parts", mostItems)
		}
		below, err := p.look(part, depth+1)
		if err != nil {
			return nil, err
		}
		if !grid {
			return append([]*item{it}, below...), nil
		}
		for _, b := range below {
			if p.meta.turned(b) {
				return nil, unhandled("holds tiles that are turned one by one, which is not handled")
			}
		}
	}
	return []*item{it}, nil
}

func (p *Picture) lookCoded(it *item) error {
	if !p.meta.inside(it) {
		return io.ErrUnexpectedEOF
	}
	for _, prop := range p.meta.properties(it) {
		if prop.kind != "hvcC" {
			continue
		}
		c, ok := readCoded(prop.data)
		if !ok {
			return badContainer("a picture's own header")
		}
		if p.coded.width == 0 {
			p.coded = c
		} else if c != p.coded {
			return badContainer("parts of different kinds")
		}
		return nil
	}
	return badContainer("a picture without its header")
}

// readSize works out the stored size, and what is to be done to it in the order in which it is to be done: to the grid or
// coded picture first, then to what the container makes of it.
func (p *Picture) readSize(chain []*item) error {
	for _, prop := range p.meta.properties(p.base) {
		if prop.kind == "ispe" && len(prop.data) >= 12 {
			w, h := binary.BigEndian.Uint32(prop.data[4:]), binary.BigEndian.Uint32(prop.data[8:])
			if w > math.MaxInt32 || h > math.MaxInt32 {
				return badContainer("size %d × %d", w, h)
			}
			p.stored = image.Pt(int(w), int(h))
			break
		}
	}
	if p.stored.X == 0 || p.stored.Y == 0 {
		return badContainer("no size")
	}
	p.Pixels = max(int64(p.stored.X)*int64(p.stored.Y), int64(p.coded.width)*int64(p.coded.height))
	p.Gray, p.Bits = p.coded.chroma == 0, p.coded.bits
	t := turning{cut: image.Rectangle{Max: p.stored}}
	for i := len(chain) - 1; i >= 0; i-- {
		for _, prop := range p.meta.properties(chain[i]) {
			if err := t.apply(prop); err != nil {
				return err
			}
		}
	}
	p.cut, p.Turn = t.cut, t.exif()
	p.Width, p.Height = t.cut.Dx(), t.cut.Dy()
	return nil
}

// covered checks, before decoding, that the coded pictures cover the stored one, so that no pixel of it is undefined.
func (p *Picture) covered() error {
	if p.base.kind != "grid" {
		p.columns = 1
		if p.coded.width != p.stored.X || p.coded.height != p.stored.Y {
			return badContainer("size %v, coded %d × %d", p.stored, p.coded.width, p.coded.height)
		}
		return nil
	}
	// Source: ISO/IEC 23008-12 section 6.6.2.3; from memory.
	b, err := p.meta.data(p.base, 64)
	if err != nil {
		return err
	}
	r := &bytesIn{b: b}
	r.take(1)
	wide := r.number(1)&1 != 0
	rows, columns := int(r.number(1))+1, int(r.number(1))+1
	w, h := int(r.number(wider(wide))), int(r.number(wider(wide)))
	if r.short || rows*columns != len(p.tiles) || w != p.stored.X || h != p.stored.Y || columns*p.coded.width < w || rows*p.coded.height < h {
		return badContainer("grid of %d × %d for %v", columns, rows, p.stored)
	}
	c := p.coded
	if columns > 1 && (c.chroma == 1 || c.chroma == 2) && c.width%2 != 0 || rows > 1 && c.chroma == 1 && c.height%2 != 0 {
		return unhandled("holds tiles of an odd width or height, which are not handled")
	}
	p.columns = columns
	return nil
}

// readColors reads the profile and the code points of the main picture, of its
// first tile where it has none itself, or of the coded picture. The container's
// word goes before the coded picture's: a camera is seen whose coded pictures
// are of 16 to 235, as its container says, while they themselves say 0 to 255.
//
// Source: ISO/IEC 14496-12 section 12.1.5; from memory.
func (p *Picture) readColors() {
	for _, it := range []*item{p.main, p.base, p.tiles[0]} {
		for _, prop := range p.meta.properties(it) {
			if prop.kind != "colr" || len(prop.data) < 4 {
				continue
			}
			switch data := prop.data[4:]; string(prop.data[:4]) {
			case "prof", "rICC":
				if p.ICC == nil {
					p.ICC = data
				}
			case "nclx":
				if p.Codes == nil && len(data) >= 7 {
					at := func(i int) int { return int(binary.BigEndian.Uint16(data[i:])) }
					p.Codes = &CodePoints{at(0), at(2), at(4)}
					p.Full, p.Matrix, p.nclx = data[6]&0x80 != 0, p.Codes.Matrix, prop.data
				}
			}
		}
	}
	if p.Codes == nil {
		c := p.coded.codes
		p.Matrix, p.Full = c.Matrix, p.coded.full
		if p.ICC == nil {
			p.Codes = &c
		}
	}
}

// exif returns the EXIF block that describes the main picture, from its TIFF
// header on.
func (p *Picture) exif() []byte {
	for _, it := range p.meta.items {
		if it.kind != "Exif" {
			continue
		}
		for _, of := range it.of {
			if of != p.meta.primary {
				continue
			}
			b, err := p.meta.data(it, largestEXIF)
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
