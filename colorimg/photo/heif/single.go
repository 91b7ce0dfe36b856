package heif

import "encoding/binary"

// single returns a container that holds nothing but the one coded picture, neither cut nor turned: what the decoder is given.
//
// Source: ISO/IEC 23008-12 section 9 and annex B; ISO/IEC 14496-12 sections 4.3 and 8.11; from memory.
func (p *Picture) single(it *item) ([]byte, error) {
	data, err := p.meta.data(it, uint64(len(p.meta.file)))
	if err != nil {
		return nil, err
	}
	var properties, places [][]byte
	add := func(kind string, data []byte) {
		properties = append(properties, box(kind, data))
		places = append(places, []byte{byte(len(properties))})
	}
	be := binary.BigEndian
	add("ispe", be.AppendUint32(be.AppendUint32(make([]byte, 4), uint32(p.coded.width)), uint32(p.coded.height)))
	for _, prop := range p.meta.properties(it) {
		if prop.kind == "hvcC" {
			add("hvcC", prop.data)
			break
		}
	}
	channels := []byte{0, 0, 0, 0, 3, byte(p.coded.bits), byte(p.coded.bits), byte(p.coded.bits)}
	if p.Gray {
		channels = []byte{0, 0, 0, 0, 1, byte(p.coded.bits)}
	}
	add("pixi", channels)
	if p.nclx != nil && p.Matrix == 0 { // told of other ones, the decoder might change luma and chroma by them
		add("colr", p.nclx)
	}
	meta := func(offset int) []byte {
		return box("meta", make([]byte, 4),
			box("hdlr", make([]byte, 8), []byte("pict"), make([]byte, 13)),
			box("pitm", []byte{0, 0, 0, 0, 0, 1}),
			box("iinf", []byte{0, 0, 0, 0, 0, 1}, box("infe", []byte{2, 0, 0, 0, 0, 1, 0, 0}, []byte("hvc1\x00"))),
			box("iprp", box("ipco", properties...), box("ipma", []byte{0, 0, 0, 0, 0, 0, 0, 1, 0, 1, byte(len(places))}, join(places))),
			box("iloc", []byte{0, 0, 0, 0, 0x44, 0, 0, 1, 0, 1, 0, 0, 0, 1}, // offsets and lengths of 4 bytes
				be.AppendUint32(be.AppendUint32(nil, uint32(offset)), uint32(len(data)))))
	}
	ftyp := box("ftyp", []byte("heic\x00\x00\x00\x00mif1heic"))
	before := len(ftyp) + len(meta(0)) + 8 // the head of the last box
	return join([][]byte{ftyp, meta(before), box("mdat", data)}), nil
}

func box(kind string, parts ...[]byte) []byte {
	body := join(parts)
	return append(append(binary.BigEndian.AppendUint32(make([]byte, 0, 8+len(body)), uint32(8+len(body))), kind...), body...)
}

func join(parts [][]byte) []byte {
	n := 0
	for _, p := range parts {
		n += len(p)
	}
	b := make([]byte, 0, n)
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}
