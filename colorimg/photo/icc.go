package photo

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"hueward/colorimg/cie"
)

var errProfile = errors.New("damaged colour profile")

func badProfile(format string, a ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{errProfile}, a...)...)
}

// profile is an ICC profile split into its tags; every tag lies within the bytes.
type profile struct {
	data  []byte
	space string // "RGB ", "GRAY" …
	pcs   string // "XYZ " or "Lab "
	tags  map[string][]byte
}

// parseProfile reads header and tag table.
//
// Source: ICC.1:2022 sections 7.2 and 7.3.
func parseProfile(b []byte) (*profile, error) {
	if len(b) < 132 || string(b[36:40]) != "acsp" {
		return nil, badProfile("no header")
	}
	n := binary.BigEndian.Uint32(b)
	if n < 132 || uint64(n) > uint64(len(b)) {
		return nil, badProfile("%d bytes of %d", len(b), n)
	}
	b = b[:n]
	p := &profile{data: b, space: string(b[16:20]), pcs: string(b[20:24]), tags: map[string][]byte{}}
	count := binary.BigEndian.Uint32(b[128:])
	if count == 0 || count > 200 || 132+12*int(count) > len(b) { // the largest seen in practice have about 40
		return nil, badProfile("%d tags", count)
	}
	for i := range int(count) {
		e := b[132+12*i:]
		at, size := uint64(binary.BigEndian.Uint32(e[4:])), uint64(binary.BigEndian.Uint32(e[8:]))
		if at < uint64(132+12*count) || at+size > uint64(len(b)) {
			return nil, badProfile("tag %q lies outside", e[:4])
		}
		p.tags[string(e[:4])] = b[at : at+size]
	}
	return p, nil
}

// profileEncoding makes an encoding of an ICC profile: of its matrix and curves, its grey curve, or its look-up table.
// Colours are taken relative to the media white, so that the profile's white becomes D65. An error means that the
// profile is damaged, of a kind not handled, or not meant for a picture with these channels.
//
// Source: ICC.1:2022 section 8.10 (which tags to use) and annex F (matrix and curves).
func profileEncoding(b []byte, gray bool) (*encoding, error) {
	p, err := parseProfile(b)
	if err != nil {
		return nil, err
	}
	if p.pcs != "XYZ " && p.pcs != "Lab " {
		return nil, badProfile("connection space %q", p.pcs)
	}
	var e *encoding
	switch {
	case p.space == "RGB " && (p.tags["A2B1"] != nil || p.tags["A2B0"] != nil):
		e, err = p.tableEncoding()
	case p.space == "RGB ":
		e, err = p.matrixEncoding()
	case p.space == "GRAY" && gray && (p.tags["A2B1"] != nil || p.tags["A2B0"] != nil):
		e, err = p.grayTableEncoding()
	case p.space == "GRAY" && gray:
		e, err = p.grayEncoding()
	default:
		err = badProfile("colour space %q", p.space)
	}
	if err != nil {
		return nil, err
	}
	if !p.keepsItsName(e) {
		return nil, badProfile("its numbers are not those of its name")
	}
	e.name = p.name(e)
	return e, nil
}

// matrixEncoding reads a three-component matrix profile.
//
// Source: ICC.1:2022 annex F.3.
func (p *profile) matrixEncoding() (*encoding, error) {
	if p.pcs != "XYZ " {
		return nil, badProfile("matrix to %q", p.pcs)
	}
	e := &encoding{same: true}
	var m cie.Matrix
	for j, c := range []string{"r", "g", "b"} {
		x, err := readXYZ(p.tags[c+"XYZ"])
		if err != nil {
			return nil, err
		}
		m[0][j], m[1][j], m[2][j] = x.X, x.Y, x.Z
		trc := p.tags[c+"TRC"]
		if e.curve[j], err = readCurve(trc); err != nil {
			return nil, err
		}
		e.same = e.same && string(trc) == string(p.tags["rTRC"])
	}
	// White must come out as white: the columns of a sound profile add up to D50.
	x, y, z := m.Apply(1, 1, 1)
	if d := max(math.Abs(x-cie.D50.X), math.Abs(y-cie.D50.Y), math.Abs(z-cie.D50.Z)); !(d < 0.02) {
		return nil, badProfile("its white is %.3f %.3f %.3f", x, y, z)
	}
	if !(math.Abs(m.Det()) > 1e-3) {
		return nil, badProfile("its primaries span no colours")
	}
	e.matrix = fromPCS.Mul(m)
	return e, nil
}

// fromPCS converts XYZ under D50 to linear sRGB.
var fromPCS = cie.SRGB.FromXYZ.Mul(cie.Bradford(cie.D50, cie.D65))

// grayEncoding reads a monochrome profile. Its curve gives Y, or L* where the connection space is Lab.
//
// Source: ICC.1:2022 annex F.2.
func (p *profile) grayEncoding() (*encoding, error) {
	f, err := readCurve(p.tags["kTRC"])
	if err != nil {
		return nil, err
	}
	if p.pcs == "Lab " {
		l := f
		f = func(v float64) float64 { return cie.Lab{L: 100 * l(v)}.XYZ().Y }
	}
	return &encoding{curve: sameCurve(f), same: true, matrix: identity}, nil
}

// readXYZ reads an XYZType tag.
//
// Source: ICC.1:2022 section 10.31.
func readXYZ(b []byte) (cie.XYZ, error) {
	if len(b) < 20 || string(b[:4]) != "XYZ " {
		return cie.XYZ{}, badProfile("no colorant")
	}
	return cie.XYZ{X: s15Fixed16(b[8:]), Y: s15Fixed16(b[12:]), Z: s15Fixed16(b[16:])}, nil
}

func s15Fixed16(b []byte) float64 { return float64(int32(binary.BigEndian.Uint32(b))) / 65536 }

// readCurve reads a curveType or parametricCurveType tag as a function from 0…1 to 0…1. A curve that falls, or does not
// lead from dark to light, is damaged.
//
// Source: ICC.1:2022 sections 10.6 and 10.18.
func readCurve(b []byte) (func(float64) float64, error) {
	if len(b) < 12 {
		return nil, badProfile("no curve")
	}
	var f func(float64) float64
	switch string(b[:4]) {
	case "curv":
		n := binary.BigEndian.Uint32(b[8:])
		if uint64(len(b)) < 12+2*uint64(n) {
			return nil, badProfile("curve of %d points", n)
		}
		f = sampledCurve(b[12 : 12+2*n])
	case "para":
		f = parametricCurve(binary.BigEndian.Uint16(b[8:]), b[12:])
	}
	if f == nil {
		return nil, badProfile("curve of type %q", b[:4])
	}
	last := math.Inf(-1)
	for i := range 256 {
		v := f(float64(i) / 255)
		if !(v >= last-1e-6) { // NaN too
			return nil, badProfile("a curve falls")
		}
		last = v
	}
	if first := f(0); first > 0.1 || last < 0.9 || last > 1.1 {
		return nil, badProfile("a curve leads from %.3f to %.3f", first, last)
	}
	return f, nil
}

// sampledCurve is a curveType: none, one, or many 16-bit numbers.
func sampledCurve(b []byte) func(float64) float64 {
	switch n := len(b) / 2; n {
	case 0:
		return func(v float64) float64 { return v }
	case 1:
		return gamma(float64(binary.BigEndian.Uint16(b)) / 256) // u8Fixed8Number
	default:
		return func(v float64) float64 {
			x := min(max(v, 0), 1) * float64(n-1)
			i := min(int(x), n-2)
			lo, hi := float64(binary.BigEndian.Uint16(b[2*i:])), float64(binary.BigEndian.Uint16(b[2*i+2:]))
			return (lo + (hi-lo)*(x-float64(i))) / 65535
		}
	}
}

// parametricCurve is a parametricCurveType: table 68 of the specification,
// with its parameter names. nil where the kind is unknown or cut short.
func parametricCurve(kind uint16, b []byte) func(float64) float64 {
	sizes := []int{1, 3, 4, 5, 7}
	if int(kind) >= len(sizes) || len(b) < 4*sizes[kind] {
		return nil
	}
	var q [7]float64
	for i := range sizes[kind] {
		q[i] = s15Fixed16(b[4*i:])
	}
	g, a, k, c, d, e, f := q[0], q[1], q[2], q[3], q[4], q[5], q[6]
	switch kind {
	case 0:
		a, k, c, d, e, f = 1, 0, 0, 0, 0, 0
	case 1, 2: // below -b/a the value is 0, or c
		if a == 0 {
			return nil
		}
		e, f = c, c // kind 1 has no c: it is 0 in q
		c, d = 0, -k/a
	case 3:
		e, f = 0, 0
	}
	return func(x float64) float64 {
		if x >= d {
			return math.Pow(max(a*x+k, 0), g) + e
		}
		return c*x + f
	}
}
