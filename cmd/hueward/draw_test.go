package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg/cie"
	"hueward/colorimg/patches"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/tag"
)

// cmdDraw is "draw NAME.jpg key=value…": draws a photo, so that scripts need
// no binary files. Keys: size=W,H petal=L,a,b tip=L,a,b ground=NAME card=none kelvin=K
// ev=STOPS at=X,Y cardat=X,Y (shares of the frame) seed=N noise=N taken=TIME orient=N
// phone=CONTRAST,SATURATION make=NAME model=NAME chart=FILE (a set of patches, from this
// folder) diameter=SHARE (of the frame's shorter side) cardwidth=SHARE (of its width)
// cardangle=DEGREES strip=yes tag=TEXT (a code beside the bloom). Later keys count for more.
// It prints the colour that a perfect measurement would find.
func cmdDraw(ts *testscript.TestScript, args []string) {
	s, info, err := sceneOf(args[1:])
	ts.Check(err)
	truth, err := drawFile(ts.MkAbs(args[0]), s, info)
	ts.Check(err)
	fmt.Fprintf(ts.Stdout(), "%.2f,%.2f,%.2f\n", truth.Petal.L, truth.Petal.A, truth.Petal.B)
}

// drawFile draws a scene into a file, a PNG when its name says so.
func drawFile(name string, s render.Scene, info photo.Info) (render.Truth, error) {
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return render.Truth{}, err
	}
	im, truth := render.Draw(s)
	return truth, cli.WriteFile(name, cli.Photo, func(w io.Writer) error {
		if strings.HasSuffix(name, ".png") {
			return png.Encode(w, im)
		}
		return photo.WriteJPEG(w, im, 92, info)
	})
}

func sceneOf(pairs []string) (s render.Scene, info photo.Info, err error) {
	s.Width, s.Height, s.EV, s.Seed = 640, 480, -0.5, 1
	var size, cardAt, phone [2]float64
	var tip cie.Lab
	var seed, orient float64
	numbers := map[string][]*float64{
		"size": {&size[0], &size[1]}, "petal": {&s.Petal.L, &s.Petal.A, &s.Petal.B}, "tip": {&tip.L, &tip.A, &tip.B},
		"at": {&s.At[0], &s.At[1]}, "cardat": {&cardAt[0], &cardAt[1]}, "cardwidth": {&s.Card.Width}, "cardangle": {&s.Card.Angle},
		"diameter": {&s.Diameter}, "kelvin": {&s.Kelvin}, "ev": {&s.EV}, "noise": {&s.Noise}, "seed": {&seed}, "orient": {&orient},
		"phone": {&phone[0], &phone[1]},
	}
	for _, pair := range pairs {
		key, value, _ := strings.Cut(pair, "=")
		texts := strings.Split(value, ",")
		for i, to := range numbers[key] {
			if i >= len(texts) {
				err = strconv.ErrSyntax
			} else if err == nil {
				*to, err = strconv.ParseFloat(texts[i], 64)
			}
		}
		if err != nil {
			return s, info, fmt.Errorf("draw: %q: want %d numbers", pair, len(numbers[key]))
		}
		switch key {
		case "size":
			s.Width, s.Height = int(size[0]), int(size[1])
		case "tip":
			s.Tip = &tip
		case "cardat":
			s.Card.At = &cardAt
		case "strip":
			s.Card.Strip = value == "yes"
		case "tag":
			s.Tag = &render.TagSpec{Width: 0.11, Angle: 7}
			s.Tag.Modules, err = tag.Matrix(value)
		case "seed":
			s.Seed = int64(seed)
		case "orient":
			info.Orientation = int(orient)
		case "phone":
			s.Phone = &render.Phone{Contrast: phone[0], Saturation: phone[1]}
		case "make":
			info.Make = value
		case "model":
			info.Model = value
		case "chart":
			err = addChart(&s, value)
		case "card":
			s.Card.None = value == "none"
		case "taken":
			info.Taken, err = time.Parse("2006-01-02T15:04", value)
		case "ground":
			k := slices.IndexFunc(render.Grounds, func(g render.Ground) bool { return g.String() == value })
			if k < 0 {
				return s, info, fmt.Errorf("draw: no ground %q", value)
			}
			s.Ground = render.Grounds[k]
		default:
			if numbers[key] == nil {
				return s, info, fmt.Errorf("draw: no key %q", key)
			}
		}
		if err != nil {
			return s, info, err
		}
	}
	return s, info, nil
}

// chartFile is a made-up set of patches.
const chartFile = "../../colorimg/patches/testdata/garden24.txt"

// addChart lays a chart across the scene, and makes the bloom small.
func addChart(s *render.Scene, file string) error {
	set, err := patches.Open(file)
	if err != nil {
		return err
	}
	spec := &render.ChartSpec{Rows: set.Rows, Cols: set.Cols, Gap: set.Gap}
	for _, p := range set.Patches { // row by row in the file
		spec.Patches = append(spec.Patches, p.Ref.Lab())
	}
	s.Card = render.CardSpec{Chart: spec, Width: 0.6, At: &[2]float64{0.55, 0.5}, Angle: 4}
	s.At, s.Diameter = [2]float64{0.1, 0.15}, 0.15
	return nil
}

// cmdHeader is "header NAME W H": a tiny JPEG or PNG that claims a size.
func cmdHeader(ts *testscript.TestScript, args []string) {
	w, err := strconv.Atoi(args[1])
	ts.Check(err)
	h, err := strconv.Atoi(args[2])
	ts.Check(err)
	b := jpegHeader(w, h)
	if strings.HasSuffix(args[0], ".png") {
		b = pngHeader(w, h)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o666))
}

// jpegHeader is a start of image, a JFIF header and a baseline frame header of
// three components.
//
// Source: ITU-T T.81 B.2.2; JFIF 1.02.
func jpegHeader(w, h int) []byte {
	b := []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00\xff\xc0\x00\x11\x08")
	b = binary.BigEndian.AppendUint16(b, uint16(h))
	b = binary.BigEndian.AppendUint16(b, uint16(w))
	b = append(b, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1)
	return append(b, make([]byte, 480)...)
}

// pngHeader is a signature, a header chunk of 8-bit RGB, and an empty data chunk.
//
// Source: W3C PNG, 5.2 and 11.2.1.
func pngHeader(w, h int) []byte {
	var b bytes.Buffer
	b.WriteString("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, data []byte) {
		binary.Write(&b, binary.BigEndian, uint32(len(data)))
		body := append([]byte(kind), data...)
		b.Write(body)
		binary.Write(&b, binary.BigEndian, crc32.ChecksumIEEE(body))
	}
	head := binary.BigEndian.AppendUint32(nil, uint32(w))
	head = binary.BigEndian.AppendUint32(head, uint32(h))
	chunk("IHDR", append(head, 8, 2, 0, 0, 0))
	chunk("IDAT", nil)
	chunk("IEND", nil)
	return b.Bytes()
}

// What paper, ink and card reflect; common practice, no source.
const paperY, inkY, cardY = 0.83, 0.04, 0.18

// cmdDrawSheet is "drawsheet NAME.jpg SHEET PLANT key=value…": draws a photo of a
// photo sheet from straight above, with a card in its frame and a bloom in its
// ring. Keys are those of draw; diameter is a share of the paper's height. It
// prints the bloom's colour, and its width in millimetres from tip to tip.
func cmdDrawSheet(ts *testscript.TestScript, args []string) {
	sheet, ok := tag.SheetNamed(args[1])
	if !ok {
		ts.Fatalf("no sheet %q", args[1])
	}
	const perMM = 6
	s, info, err := sceneOf(args[3:])
	ts.Check(err)
	s.Width, s.Height = int(sheet.Width*perMM), int(sheet.Height*perMM)
	s.At = [2]float64{sheet.Bloom.X / sheet.Width, sheet.Bloom.Y / sheet.Height}
	white := cie.XYZ{X: paperY * cie.D65.X, Y: paperY, Z: paperY * cie.D65.Z}.Lab()
	noCard := s.Card.None
	s.Ground, s.GroundLab, s.Card.None = render.Board, &white, true
	im, truth := render.Draw(s)
	code, err := tag.Matrix(tag.Payload{Plant: args[2], Sheet: sheet.Name}.String())
	ts.Check(err)
	gains := render.Gains(s.Kelvin, 1)
	for y := range s.Height {
		for x := range s.Width {
			printOver(im, x, y, perMM, sheet, code, !noCard, gains, math.Exp2(s.EV))
		}
	}
	name := ts.MkAbs(args[0])
	ts.Check(cli.WriteFile(name, cli.Photo, func(w io.Writer) error { return photo.WriteJPEG(w, im, 92, info) }))
	fmt.Fprintf(ts.Stdout(), "%.2f,%.2f,%.2f %.1f\n", truth.Petal.L, truth.Petal.A, truth.Petal.B, 2*truth.Radius/perMM)
}

// printOver prints what the sheet has at a pixel over the paper that is drawn
// there: the mean of 4 × 4 places within it, in linear light.
func printOver(im *image.NRGBA, x, y int, perMM float64, s tag.Sheet, code [][]bool, card bool, gains [3]float64, exposure float64) {
	if !nearPrint(s, code, float64(x)/perMM, float64(y)/perMM) {
		return
	}
	sum, n := 0.0, 0
	for i := range 16 {
		if v, ok := printed(s, code, card, (float64(x)+float64(i%4)/4+0.125)/perMM, (float64(y)+float64(i/4)/4+0.125)/perMM); ok {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return
	}
	c := im.NRGBAAt(x, y)
	at := func(v uint8, gain float64) uint8 {
		light := (cie.Linear(float64(v)/255)*float64(16-n) + sum*gain*exposure) / 16
		return uint8(math.Round(255 * cie.Encode(min(max(light, 0), 1))))
	}
	im.SetNRGBA(x, y, color.NRGBA{at(c.R, gains[0]), at(c.G, gains[1]), at(c.B, gains[2]), 255})
}

// nearPrint is false where nothing is printed within a millimetre.
func nearPrint(s tag.Sheet, code [][]bool, x, y float64) bool {
	in := func(r tag.Rect, more float64) bool {
		return x > r.X-more && y > r.Y-more && x < r.X+r.W+more && y < r.Y+r.H+more
	}
	for _, m := range s.Marks {
		if math.Abs(x-m[0]) < s.MarkR+1 && math.Abs(y-m[1]) < s.MarkR+1 {
			return true
		}
	}
	return in(s.Card, 1) || in(s.Code, 1+4*s.Code.W/float64(len(code)))
}

// printed is what a place of the sheet reflects, in millimetres; false where
// bare paper or the bloom shows.
func printed(s tag.Sheet, code [][]bool, card bool, x, y float64) (float64, bool) {
	for _, m := range s.Marks {
		switch d := math.Hypot(x-m[0], y-m[1]); {
		case d < s.HoleR:
			return paperY, true
		case d < s.MarkR:
			return inkY, true
		}
	}
	if u, v := x-s.Card.X, y-s.Card.Y; u >= 0 && v >= 0 && u < s.Card.W && v < s.Card.H {
		if card {
			return cardY, true
		}
		// The cross that a card hides: its arms end at the corners.
		slope := s.Card.H / s.Card.W
		off := min(math.Abs(v-u*slope), math.Abs(v-(s.Card.H-u*slope))) / math.Hypot(1, slope)
		if off < tag.CrossMM/2 {
			return inkY, true
		}
		return paperY, true
	}
	n := float64(len(code))
	if u, v := (x-s.Code.X)/s.Code.W*n, (y-s.Code.Y)/s.Code.H*n; u >= -4 && v >= -4 && u < n+4 && v < n+4 {
		if u >= 0 && v >= 0 && u < n && v < n && code[int(v)][int(u)] {
			return inkY, true
		}
		return paperY, true
	}
	return 0, false
}
