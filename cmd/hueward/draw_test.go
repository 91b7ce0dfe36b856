package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image/png"
	"io"
	"os"
	"path/filepath"
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
func cmdDraw(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: draw NAME key=value...")
	}
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
	for _, pair := range pairs {
		key, value, _ := strings.Cut(pair, "=")
		var v []float64
		for _, p := range strings.Split(value, ",") {
			if x, err := strconv.ParseFloat(p, 64); err == nil {
				v = append(v, x)
			}
		}
		n := map[string]int{"size": 2, "petal": 3, "tip": 3, "at": 2, "cardat": 2, "kelvin": 1, "ev": 1, "seed": 1, "noise": 1, "orient": 1,
			"phone":    2,
			"diameter": 1, "cardwidth": 1, "cardangle": 1}[key]
		if len(v) < n {
			return s, info, fmt.Errorf("draw: %q: want %d numbers", pair, n)
		}
		switch key {
		case "size":
			s.Width, s.Height = int(v[0]), int(v[1])
		case "petal":
			s.Petal = cie.Lab{L: v[0], A: v[1], B: v[2]}
		case "tip":
			s.Tip = &cie.Lab{L: v[0], A: v[1], B: v[2]}
		case "at":
			s.At = [2]float64{v[0], v[1]}
		case "cardat":
			s.Card.At = &[2]float64{v[0], v[1]}
		case "cardwidth":
			s.Card.Width = v[0]
		case "cardangle":
			s.Card.Angle = v[0]
		case "strip":
			s.Card.Strip = value == "yes"
		case "diameter":
			s.Diameter = v[0]
		case "tag":
			modules, err := tag.Matrix(value)
			if err != nil {
				return s, info, err
			}
			s.Tag = &render.TagSpec{Modules: modules, Width: 0.11, Angle: 7}
		case "kelvin":
			s.Kelvin = v[0]
		case "ev":
			s.EV = v[0]
		case "seed":
			s.Seed = int64(v[0])
		case "noise":
			s.Noise = v[0]
		case "orient":
			info.Orientation = int(v[0])
		case "phone":
			s.Phone = &render.Phone{Contrast: v[0], Saturation: v[1]}
		case "make":
			info.Make = value
		case "model":
			info.Model = value
		case "chart":
			if err := addChart(&s, value); err != nil {
				return s, info, err
			}
		case "card":
			s.Card.None = value == "none"
		case "taken":
			if info.Taken, err = time.Parse("2006-01-02T15:04", value); err != nil {
				return s, info, err
			}
		case "ground":
			found := false
			for _, g := range render.Grounds {
				if g.String() == value {
					s.Ground, found = g, true
				}
			}
			if !found {
				return s, info, fmt.Errorf("draw: no ground %q", value)
			}
		default:
			return s, info, fmt.Errorf("draw: no key %q", key)
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
func cmdHeader(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: header NAME.jpg|NAME.png W H")
	}
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
