package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"io"
	"iter"

	"hueward/colorimg/photo/heif"
)

// facts are a file's metadata. What is missing or unreadable keeps its zero value.
type facts struct {
	exif     []byte // a TIFF structure
	icc      []byte
	space    exifSpace
	iccBad   bool // a profile is there, but incomplete
	png      pngColor
	codes    *codePoints // of a PNG or a HEIC container
	gray     bool        // one channel, perhaps with alpha
	turn     orientation // by the container, in place of EXIF's; 0: it does not say
	pixels   int64       // of the largest picture to decode, where it is not the displayed one
	raw      bool        // a camera raw file in a TIFF's clothes
	animated bool
	coarse   float64 // see [Photo]
}

// largestProfile bounds what a compressed profile may grow to.
const largestProfile = 16 << 20

var exifHeader = []byte("Exif\x00\x00")

// jpegSegments are the markers and contents of the segments before the first scan.
//
// Source: ITU-T T.81 annex B.
func jpegSegments(b []byte) iter.Seq2[byte, []byte] {
	return func(yield func(byte, []byte) bool) {
		for i := 2; i+4 <= len(b); {
			m := b[i+1]
			if b[i] != 0xff || m == 0xff { // a fill byte
				i++
				continue
			}
			if m == 0x00 || m == 0x01 || m >= 0xd0 && m <= 0xd8 { // no length follows
				i += 2
				continue
			}
			n := int(binary.BigEndian.Uint16(b[i+2:]))
			if m == 0xda || m == 0xd9 || n < 2 || i+2+n > len(b) || !yield(m, b[i+4:i+2+n]) {
				return
			}
			i += 2 + n
		}
	}
}

// jpegFacts collects the EXIF block and the profile's pieces.
//
// Source: CIPA DC-008 4.7.2; ICC.1 annex B.4.
func jpegFacts(b []byte) facts {
	var f facts
	var parts [256][]byte
	total, seen := 0, 0
	for m, seg := range jpegSegments(b) {
		switch {
		case m == 0xe1 && f.exif == nil && bytes.HasPrefix(seg, exifHeader):
			f.exif = seg[len(exifHeader):]
		case m == 0xe2 && len(seg) > len(iccHeader)+2 && bytes.HasPrefix(seg, iccHeader):
			no, of := seg[len(iccHeader)], seg[len(iccHeader)+1]
			if no == 0 || no > of || parts[no] != nil || total != 0 && total != int(of) {
				f.iccBad = true
			} else {
				parts[no], total = seg[len(iccHeader)+2:], int(of)
				seen++
			}
		case m == 0xdb:
			f.coarse = max(f.coarse, coarsest(seg))
		}
	}
	if seen != total {
		f.iccBad = true
	}
	if seen > 0 && !f.iccBad {
		f.icc = bytes.Join(parts[1:1+total], nil)
	}
	return f
}

// coarsest returns the largest quantisation step of a block's mean in a segment of tables, in units of 1/255: an eighth of each
// table's first value.
//
// Source: ITU-T T.81 sections A.3.3, A.3.4 and B.2.4.1.
func coarsest(seg []byte) (step float64) {
	for len(seg) > 2 {
		first, n := int(seg[1]), 1+64
		if seg[0]>>4 == 1 { // in 16 bits
			first, n = first<<8|int(seg[2]), 1+128
		}
		step, seg = max(step, float64(first)/8), seg[min(n, len(seg)):]
	}
	return step
}

var iccHeader = []byte("ICC_PROFILE\x00")

// pngColor is what the ancillary chunks of a PNG say of its colours.
type pngColor struct {
	srgb bool
	gama uint32      // gamma × 100000; 0: none
	chrm *[8]float64 // x, y of white, red, green, blue
}

// pngFacts reads the ancillary chunks.
//
// Source: W3C Portable Network Graphics, third edition, section 11.3.
func pngFacts(b []byte) facts {
	f := facts{gray: len(b) > 25 && b[25]&3 == 0} // the colour type
	for i := 8; i+12 <= len(b); {
		n := int64(binary.BigEndian.Uint32(b[i:]))
		if int64(i)+12+n > int64(len(b)) {
			break
		}
		data := b[i+8 : i+8+int(n)]
		switch string(b[i+4 : i+8]) {
		case "eXIf":
			f.exif = bytes.TrimPrefix(data, exifHeader)
		case "iCCP":
			f.icc, f.iccBad = inflateProfile(data)
		case "sRGB":
			f.png.srgb = true
		case "gAMA":
			if n == 4 {
				f.png.gama = binary.BigEndian.Uint32(data)
			}
		case "cHRM":
			if n == 32 {
				f.png.chrm = new([8]float64)
				for k := range f.png.chrm {
					f.png.chrm[k] = float64(binary.BigEndian.Uint32(data[4*k:])) / 100000
				}
			}
		case "cICP":
			if n == 4 {
				f.codes = &codePoints{heif.CodePoints{Primaries: int(data[0]), Transfer: int(data[1]), Matrix: int(data[2])}, true, data[3] != 1}
			}
		} // of an animated PNG (acTL) the first picture is an ordinary one
		i += 12 + int(n)
	}
	return f
}

// inflateProfile unpacks an iCCP chunk: name, zero, method 0, zlib stream.
func inflateProfile(data []byte) (icc []byte, bad bool) {
	k := bytes.IndexByte(data, 0)
	if k < 0 || k+2 > len(data) || data[k+1] != 0 {
		return nil, true
	}
	z, err := zlib.NewReader(bytes.NewReader(data[k+2:]))
	if err != nil {
		return nil, true
	}
	icc, err = io.ReadAll(io.LimitReader(z, largestProfile+1))
	if err != nil || len(icc) > largestProfile {
		return nil, true
	}
	return icc, false
}

// TIFF tags looked at here.
const (
	tagSubfileType = 254
	tagICC         = 34675
	tagDNGVersion  = 50706
)

// tiffFacts reads the first directory. The whole file serves as its EXIF block.
//
// Source: TIFF 6.0 section 2; ICC.1 annex B.3; DNG specification (tag 50706).
func tiffFacts(b []byte) facts {
	f := facts{exif: b}
	var bo binary.ByteOrder = binary.LittleEndian
	if b[0] == 'M' {
		bo = binary.BigEndian
	}
	if len(b) < 8 {
		return f
	}
	at := int64(bo.Uint32(b[4:]))
	if at+2 > int64(len(b)) {
		return f
	}
	n := int64(bo.Uint16(b[at:]))
	for i := range n {
		p := at + 2 + 12*i
		if p+12 > int64(len(b)) {
			break
		}
		e := b[p : p+12]
		count, value := int64(bo.Uint32(e[4:])), int64(bo.Uint32(e[8:]))
		switch bo.Uint16(e) {
		case tagSubfileType:
			f.raw = f.raw || value&1 != 0 // a raw file leads with its thumbnail
		case tagDNGVersion:
			f.raw = true
		case tagICC:
			if value+count <= int64(len(b)) && count <= largestProfile {
				f.icc = b[value : value+count]
			} else {
				f.iccBad = true
			}
		}
	}
	return f
}

// webpFacts reads the chunks of an extended WebP.
//
// Source: RFC 9649 section 2.7.
func webpFacts(b []byte) facts {
	var f facts
	for i := 12; i+8 <= len(b); {
		n := int64(binary.LittleEndian.Uint32(b[i+4:]))
		id := string(b[i : i+4])
		end := int64(i) + 8 + n
		if end > int64(len(b)) {
			f.iccBad = f.iccBad || id == "ICCP"
			break
		}
		data := b[i+8 : end]
		switch id {
		case "VP8X":
			f.animated = n > 0 && data[0]&2 != 0
		case "ICCP":
			f.icc = data
		case "EXIF":
			f.exif = bytes.TrimPrefix(data, exifHeader)
		}
		i = int(end + n&1)
	}
	return f
}
