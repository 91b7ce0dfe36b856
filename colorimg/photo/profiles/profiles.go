// Package profiles makes colour profiles for tests: no photo is written with one
// by the program.
package profiles

import (
	"encoding/binary"
	"math"
	"unicode/utf16"

	"hueward/colorimg/cie"
)

// SRGB returns a minimal ICC v4 profile of sRGB, made here from the
// space's numbers.
func SRGB() []byte { return matrixProfile("sRGB", cie.SRGB) }

// DisplayP3 returns a minimal ICC v4 profile of Display P3.
func DisplayP3() []byte { return matrixProfile("Display P3", cie.DisplayP3) }

// matrixProfile builds a display profile with the sRGB transfer function.
//
// Source: ICC.1:2022 sections 7 to 10, the tags required of a
// three-component matrix-based display profile (8.4.3).
func matrixProfile(name string, s cie.Space) []byte {
	adapt := cie.Bradford(cie.D65, cie.D50)
	m := adapt.Mul(s.ToXYZ)
	column := func(j int) []byte { return xyzTag(m[0][j], m[1][j], m[2][j]) }
	chad := []byte("sf32\x00\x00\x00\x00")
	for _, row := range adapt {
		for _, v := range row {
			chad = AppendFixed(chad, v)
		}
	}
	curve := append([]byte("para\x00\x00\x00\x00"), 0, 3, 0, 0)
	for _, v := range []float64{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045} {
		curve = AppendFixed(curve, v)
	}
	tags := []struct {
		sig  string
		data []byte
	}{
		{"desc", Text(name)},
		{"cprt", Text("No copyright, use freely")},
		{"wtpt", xyzTag(cie.D50.X, cie.D50.Y, cie.D50.Z)},
		{"chad", chad},
		{"rXYZ", column(0)}, {"gXYZ", column(1)}, {"bXYZ", column(2)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve},
	}
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	var data []byte
	start := 128 + 4 + 12*len(tags)
	for i, t := range tags {
		at := start + len(data)
		if i > 0 && len(t.data) > 0 && &tags[i-1].data[0] == &t.data[0] {
			at = int(binary.BigEndian.Uint32(table[len(table)-8:])) // shared with the tag before
		} else {
			data = append(data, t.data...)
			for len(data)%4 != 0 {
				data = append(data, 0)
			}
		}
		table = append(table, t.sig...)
		table = binary.BigEndian.AppendUint32(table, uint32(at))
		table = binary.BigEndian.AppendUint32(table, uint32(len(t.data)))
	}
	head := make([]byte, 128)
	binary.BigEndian.PutUint32(head, uint32(start+len(data)))
	binary.BigEndian.PutUint32(head[8:], 0x04400000) // version 4.4
	copy(head[12:], "mntrRGB XYZ ")
	for i, v := range []uint16{2024, 1, 1, 0, 0, 0} { // a fixed date, so that the bytes are always the same
		binary.BigEndian.PutUint16(head[24+2*i:], v)
	}
	copy(head[36:], "acsp")
	copy(head[68:], AppendFixed(AppendFixed(AppendFixed(nil, cie.D50.X), cie.D50.Y), cie.D50.Z))
	return append(append(head, table...), data...)
}

func xyzTag(x, y, z float64) []byte {
	return AppendFixed(AppendFixed(AppendFixed([]byte("XYZ \x00\x00\x00\x00"), x), y), z)
}

// AppendFixed appends a number as the format writes it: 16 bits before the point, 16 after.
func AppendFixed(b []byte, v float64) []byte {
	return binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
}

// Text is a tag of one text, in English.
func Text(s string) []byte {
	u := utf16.Encode([]rune(s))
	b := []byte("mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS")
	b = binary.BigEndian.AppendUint32(b, uint32(2*len(u)))
	b = binary.BigEndian.AppendUint32(b, 28)
	for _, v := range u {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return b
}
