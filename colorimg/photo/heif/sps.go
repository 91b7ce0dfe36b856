package heif

import "github.com/bluenviron/mediacommon/v2/pkg/codecs/h265"

// coded is what a coded picture's own header says about its samples.
type coded struct {
	width, height int
	chroma        int  // 0: grey, 1: 4:2:0, 2: 4:2:2, 3: 4:4:4
	bits          int  // of luma
	full          bool // 0 to 255, not 16 to 235
	codes         CodePoints
}

// readCoded reads the sequence parameter set of a decoder configuration
// record; false where there is none that can be read.
//
// Source: ISO/IEC 14496-15 section 8.3.3.1 (the record); from memory.
func readCoded(hvcC []byte) (coded, bool) {
	r := &bytesIn{b: hvcC}
	r.take(22)
	for range r.number(1) { // arrays
		kind := h265.NALUType(r.number(1) & 63)
		for range r.number(2) {
			nal := r.take(int(r.number(2)))
			if r.short {
				return coded{}, false
			}
			if kind == h265.NALUType_SPS_NUT {
				return readSPS(nal)
			}
		}
	}
	return coded{}, false
}

// readSPS reads a sequence parameter set.
//
// Source: ITU-T H.265 sections 7.3.2.2 and E.2.1; from memory.
func readSPS(nal []byte) (coded, bool) {
	var s h265.SPS
	if s.Unmarshal(nal) != nil || s.BitDepthLumaMinus8 > 8 {
		return coded{}, false
	}
	c := coded{width: s.Width(), height: s.Height(), chroma: int(s.ChromaFormatIdc), bits: 8 + int(s.BitDepthLumaMinus8),
		codes: CodePoints{2, 2, 2}}
	if s.SeparateColourPlaneFlag {
		c.chroma = 0 // three grey pictures
	}
	if v := s.VUI; v != nil {
		c.full = v.VideoFullRangeFlag
		if v.ColourDescriptionPresentFlag {
			c.codes = CodePoints{int(v.ColourPrimaries), int(v.TransferCharacteristics), int(v.MatrixCoefficients)}
		}
	}
	const most = 1 << 24 // a window larger than the picture runs over
	return c, c.width > 0 && c.height > 0 && max(c.width, c.height) < most
}
