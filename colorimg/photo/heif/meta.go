package heif

import (
	"fmt"
	"io"
)

// Bounds on what a container may hold; the largest phone pictures seen have
// about 70 items and 20 properties.
const (
	mostBoxes   = 4096
	mostItems   = 4096
	mostExtents = 16384
)

// item is one thing in a container's meta box.
type item struct {
	kind    string
	method  uint8 // of construction; 0: in the file, 1: in the idat box
	extents [][2]uint64
	props   []int // which properties it has, from 1
	parts   []uint32
	of      []uint32 // the items that it describes
}

// property is one property of items: a size, a rotation, a profile …
type property struct {
	kind string
	data []byte
}

// meta is the meta box of a HEIF file, taken apart.
type meta struct {
	file    []byte
	found   bool
	handler string
	primary uint32
	items   map[uint32]*item
	props   []property
	idat    []byte
}

// readMeta reads the file's first meta box.
//
// Source: ISO/IEC 14496-12 section 8.11 and ISO/IEC 23008-12 section 9; from memory.
func readMeta(b []byte) (*meta, error) {
	m := &meta{file: b, items: map[uint32]*item{}}
	err := eachBox(b, true, func(kind string, _ int, data []byte) error {
		if kind != "meta" || m.found {
			return nil
		}
		m.found = true
		if len(data) < 4 {
			return io.ErrUnexpectedEOF
		}
		return eachBox(data[4:], true, m.box)
	})
	return m, err
}

func (m *meta) box(kind string, _ int, data []byte) error {
	r := &bytesIn{b: data}
	var err error
	switch kind {
	case "hdlr":
		r.take(8)
		m.handler = r.kind()
	case "pitm":
		v, _ := r.full()
		m.primary = uint32(r.number(wider(v > 0)))
	case "iinf":
		err = m.readInfo(r)
	case "iloc":
		err = m.readPlaces(r)
	case "iref":
		err = m.readReferences(r)
	case "idat":
		m.idat = data
	case "iprp":
		err = eachBox(data, true, m.propertyBox)
	}
	if err == nil && r.short {
		err = fmt.Errorf("box %q: %w", kind, io.ErrUnexpectedEOF)
	}
	return err
}

// wider is the width of an item number: 4 bytes, or 2.
func wider(four bool) int {
	if four {
		return 4
	}
	return 2
}

// at returns the item of that number, new if it must be.
func (m *meta) at(id uint32) (*item, error) {
	if it := m.items[id]; it != nil {
		return it, nil
	}
	if len(m.items) == mostItems {
		return nil, badContainer("more than %d items", mostItems)
	}
	it := &item{}
	m.items[id] = it
	return it, nil
}

func (m *meta) readInfo(r *bytesIn) error {
	v, _ := r.full()
	r.number(wider(v > 0)) // how many; the boxes tell
	return eachBox(r.b, true, func(kind string, _ int, data []byte) error {
		e := &bytesIn{b: data}
		v, _ := e.full()
		if kind != "infe" || v < 2 {
			return nil
		}
		id := uint32(e.number(wider(v > 2)))
		e.take(2) // protection
		what := e.kind()
		if e.short {
			return io.ErrUnexpectedEOF
		}
		it, err := m.at(id)
		if err == nil {
			it.kind = what
		}
		return err
	})
}

func (m *meta) readPlaces(r *bytesIn) error {
	v, _ := r.full()
	sizes := int(r.number(2))
	offsetSize, lengthSize, baseSize, indexSize := sizes>>12, sizes>>8&15, sizes>>4&15, sizes&15
	if v == 0 {
		indexSize = 0
	}
	if max(offsetSize, lengthSize, baseSize, indexSize) > 8 {
		return badContainer("places of items")
	}
	count := r.number(wider(v > 1))
	extents := 0
	for range min(count, mostItems+1) {
		id := uint32(r.number(wider(v > 1)))
		method := uint64(0)
		if v > 0 {
			method = r.number(2) & 15
		}
		r.take(2) // data reference
		base := r.number(baseSize)
		n := r.number(2)
		if r.short {
			return io.ErrUnexpectedEOF
		}
		it, err := m.at(id)
		if err != nil {
			return err
		}
		it.method, it.extents = uint8(method), nil
		for range n {
			r.number(indexSize)
			e := [2]uint64{base + r.number(offsetSize), r.number(lengthSize)}
			if extents++; extents > mostExtents {
				return badContainer("more than %d pieces", mostExtents)
			}
			if r.short {
				return io.ErrUnexpectedEOF
			}
			it.extents = append(it.extents, e)
		}
	}
	return nil
}

func (m *meta) readReferences(r *bytesIn) error {
	v, _ := r.full()
	w := wider(v > 0)
	return eachBox(r.b, true, func(kind string, _ int, data []byte) error {
		e := &bytesIn{b: data}
		from := uint32(e.number(w))
		n := int(e.number(2))
		if e.short || len(e.b) < n*w {
			return io.ErrUnexpectedEOF
		}
		it, err := m.at(from)
		if err != nil {
			return err
		}
		to := make([]uint32, n)
		for i := range to {
			to[i] = uint32(e.number(w))
		}
		switch kind {
		case "dimg":
			it.parts = to
		case "cdsc":
			it.of = to
		}
		return nil
	})
}

func (m *meta) propertyBox(kind string, _ int, data []byte) error {
	switch kind {
	case "ipco":
		return eachBox(data, true, func(kind string, _ int, data []byte) error {
			m.props = append(m.props, property{kind, data})
			return nil
		})
	case "ipma":
		r := &bytesIn{b: data}
		v, flags := r.full()
		for range min(r.number(4), mostItems+1) {
			id := uint32(r.number(wider(v > 0)))
			n := int(r.number(1))
			if r.short {
				return io.ErrUnexpectedEOF
			}
			it, err := m.at(id)
			if err != nil {
				return err
			}
			for range n {
				p := int(r.number(1 + int(flags&1)))
				it.props = append(it.props, p&(1<<(7+8*(flags&1))-1)) // the highest bit: essential
			}
			if len(it.props) > mostBoxes {
				return badContainer("an item of more than %d properties", mostBoxes)
			}
		}
		if r.short {
			return io.ErrUnexpectedEOF
		}
	}
	return nil
}

// properties returns the item's properties in order.
func (m *meta) properties(it *item) (ps []property) {
	for _, i := range it.props {
		if i >= 1 && i <= len(m.props) {
			ps = append(ps, m.props[i-1])
		}
	}
	return ps
}

// data returns an item's bytes, at most limit. One that reaches beyond the file
// is cut short.
func (m *meta) data(it *item, limit uint64) ([]byte, error) {
	from := m.file
	switch it.method {
	case 0:
	case 1:
		from = m.idat
	default:
		return nil, badContainer("an item made by method %d", it.method)
	}
	var b []byte
	for _, e := range it.extents {
		at, n := e[0], e[1]
		if n == 0 && at <= uint64(len(from)) { // to the end
			n = uint64(len(from)) - at
		}
		if at > uint64(len(from)) || n > uint64(len(from))-at {
			return nil, io.ErrUnexpectedEOF
		}
		if uint64(len(b))+n > limit {
			return nil, badContainer("an item of more than %d bytes", limit)
		}
		b = append(b, from[at:at+n]...)
	}
	return b, nil
}

// inside reports whether all of the item's bytes are there.
func (m *meta) inside(it *item) bool {
	n := uint64(len(m.file))
	if it.method == 1 {
		n = uint64(len(m.idat))
	}
	for _, e := range it.extents {
		if e[0] > n || e[1] > n-e[0] {
			return false
		}
	}
	return len(it.extents) > 0
}
