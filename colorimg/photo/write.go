package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"slices"
	"time"
)

// Info is what [WriteJPEG] writes beside the pixels. A zero field is not written.
type Info struct {
	Orientation int       // EXIF orientation, 1 to 8
	Taken       time.Time // to the second; its zone is written too, unless it is UTC
	Make, Model string    // of the camera
	ICC         []byte    // colour profile; the pixels are not converted to it
	Serial      string    // of the camera's body, made up; never passed on
	GPS         bool      // write a made-up position, to test that positions are never passed on
}

// EncodeJPEG writes im as [jpeg.Encode] does, to the same bytes, at the quality 1 to 100. An opaque picture of 8 bits, as
// opened and drawn photos are, is handed over as the kind that image/jpeg need not ask for pixel by pixel.
func EncodeJPEG(w io.Writer, im image.Image, quality int) error {
	if p, ok := im.(*image.NRGBA); ok && p.Opaque() {
		im = &image.RGBA{Pix: p.Pix, Stride: p.Stride, Rect: p.Rect}
	}
	return jpeg.Encode(w, im, &jpeg.Options{Quality: quality})
}

// WriteJPEG writes im as a JPEG of the given quality (1 to 100), with the info
// in an EXIF block and in profile segments. It is for made-up photos.
func WriteJPEG(w io.Writer, im image.Image, quality int, info Info) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("write JPEG: %w", err)
		}
	}()
	var buf bytes.Buffer
	if err := EncodeJPEG(&buf, im, quality); err != nil {
		return err
	}
	out := []byte{0xff, 0xd8}
	exif, err := exifBlock(info)
	if err == nil && exif != nil {
		out, err = appendSegment(out, 0xe1, exifHeader, exif)
	}
	if err != nil {
		return err
	}
	const most = 65519 // bytes of a profile that fit into one segment
	n := (len(info.ICC) + most - 1) / most
	if n > 255 {
		return fmt.Errorf("colour profile of %d bytes is too large", len(info.ICC))
	}
	for i := range n {
		head := append(bytes.Clone(iccHeader), byte(i+1), byte(n))
		if out, err = appendSegment(out, 0xe2, head, info.ICC[i*most:min((i+1)*most, len(info.ICC))]); err != nil {
			return err
		}
	}
	_, err = w.Write(append(out, buf.Bytes()[2:]...))
	return err
}

func appendSegment(out []byte, marker byte, head, data []byte) ([]byte, error) {
	n := 2 + len(head) + len(data)
	if n > 0xffff {
		return nil, fmt.Errorf("segment of %d bytes is too large", n)
	}
	out = append(out, 0xff, marker, byte(n>>8), byte(n))
	return append(append(out, head...), data...), nil
}

// field is one entry of an EXIF directory. Its value is a text, a number of 16 or 32 bits, ratios of numbers of 32 bits, one
// after the other, or bytes.
type field struct {
	tag   uint16
	value any
}

// exifBlock builds a big-endian TIFF structure of IFD0, the EXIF directory
// and, when asked for, a GPS directory; nil when info has nothing for it.
//
// Source: CIPA DC-008 (EXIF 2.32) 4.5 and 4.6; TIFF 6.0 section 2.
func exifBlock(info Info) ([]byte, error) {
	if o := info.Orientation; o < 0 || o > 8 {
		return nil, fmt.Errorf("EXIF orientation %d is not in 1 to 8", o)
	}
	var first, exif, gps []field // fields of a directory go in the order of their tags
	if info.Make != "" {
		first = append(first, field{0x010f, info.Make})
	}
	if info.Model != "" {
		first = append(first, field{0x0110, info.Model})
	}
	if info.Orientation != 0 {
		first = append(first, field{0x0112, uint16(info.Orientation)})
	}
	if !info.Taken.IsZero() {
		exif = append(exif, field{0x9003, info.Taken.Format("2006:01:02 15:04:05")})
		if info.Taken.Location() != time.UTC {
			exif = append(exif, field{0x9011, info.Taken.Format("-07:00")})
		}
	}
	if info.Serial != "" {
		exif = append(exif, field{0xa431, info.Serial})
	}
	if info.GPS {
		gps = []field{
			{0x0000, []byte{2, 3, 0, 0}},
			{0x0001, "N"}, {0x0002, []uint32{12, 1, 34, 1, 56, 1}},
			{0x0003, "W"}, {0x0004, []uint32{65, 1, 43, 1, 21, 1}},
		}
	}
	if len(first)+len(exif)+len(gps) == 0 {
		return nil, nil
	}
	// The pointers to the other directories take the same room wherever they point to.
	whole := func(exifAt, gpsAt int) (b []byte, at [2]int) {
		main := slices.Clone(first)
		if len(exif) > 0 {
			main = append(main, field{0x8769, uint32(exifAt)})
		}
		if len(gps) > 0 {
			main = append(main, field{0x8825, uint32(gpsAt)})
		}
		b = appendDirectory([]byte("MM\x00*\x00\x00\x00\x08"), main)
		for i, d := range [2][]field{exif, gps} {
			at[i] = len(b)
			b = appendDirectory(b, d)
		}
		return b, at
	}
	_, at := whole(0, 0)
	b, _ := whole(at[0], at[1])
	return b, nil
}

// appendDirectory appends a directory and the values that do not fit into it.
func appendDirectory(b []byte, fs []field) []byte {
	if len(fs) == 0 {
		return b
	}
	at := len(b) + 2 + 12*len(fs) + 4
	var rest []byte
	b = binary.BigEndian.AppendUint16(b, uint16(len(fs)))
	for _, f := range fs {
		var kind, count int
		data, _ := f.value.([]byte)
		switch v := f.value.(type) {
		case []byte:
			kind, count = 1, len(v)
		case string:
			kind, count, data = 2, len(v)+1, append([]byte(v), 0)
		case uint16, uint32:
			data, _ = binary.Append(nil, binary.BigEndian, v)
			kind, count = 2+len(data)/2, 1
		case []uint32:
			data, _ = binary.Append(nil, binary.BigEndian, v)
			kind, count = 5, len(v)/2
		}
		b = binary.BigEndian.AppendUint16(b, f.tag)
		b = binary.BigEndian.AppendUint16(b, uint16(kind))
		b = binary.BigEndian.AppendUint32(b, uint32(count))
		if len(data) <= 4 {
			b = append(b, append(bytes.Clone(data), 0, 0, 0)[:4]...)
			continue
		}
		b = binary.BigEndian.AppendUint32(b, uint32(at+len(rest)))
		rest = append(rest, data...)
		if len(rest)&1 == 1 {
			rest = append(rest, 0)
		}
	}
	b = append(b, 0, 0, 0, 0) // no next directory
	return append(b, rest...)
}
