// Command judge measures composites whose answer is known and writes what came of
// each as JSON: how far off the colour is, how well the outline fits. See ../README.md.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	_ "image/png"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/disintegration/imaging"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/petal/net"
)

// truth is one photo of composite.py's truth.json.
type truth struct {
	File, Mask, Name string
	Bloom            [2]float64
	Lab              *[3]float64
	TwoColours       bool    `json:"two_colours"`
	PetalClipped     float64 `json:"petal_clipped"`
}

// row is what came of one photo.
type row struct {
	Name, Status string
	Flags        []colorimg.Flag
	E            *float64 // Delta E 2000 of the reading to the answer
	Lab, Want    *[3]float64
	Precision    float64
	Sure, IoU    float64
	Counts       bool // the colour is one and mostly not cut off
	Shape        bool // the outline can be asked for
}

func main() {
	folder := flag.String("folder", "", "of composites, with truth.json")
	names := flag.String("names", "", "of the photos, by commas; empty: all")
	alone := flag.Bool("alone", false, "give no point")
	out := flag.String("out", "", "folder for pictures of the outlines; empty: none")
	weights := flag.String("weights", "", "of the finder, as export.py writes them, such as a fold's; empty: those carried")
	trimaps := flag.String("masks", "", "folder of photos with masks, instead of composites: how well the outlines fit")
	flag.Parse()
	if *weights != "" {
		b, err := os.ReadFile(*weights)
		if err == nil {
			err = net.Use(b)
		}
		if err != nil {
			log.Fatal(err)
		}
	}
	if *trimaps != "" {
		if err := masks(*trimaps, *out, !*alone); err != nil {
			log.Fatal(err)
		}
		return
	}
	if err := run(*folder, *names, *out, !*alone); err != nil {
		log.Fatal(err)
	}
}

func run(folder, names, out string, told bool) error {
	b, err := os.ReadFile(filepath.Join(folder, "truth.json"))
	if err != nil {
		return err
	}
	var all struct{ Photos []truth }
	if err := json.Unmarshal(b, &all); err != nil {
		return err
	}
	var rows []row
	for _, t := range all.Photos {
		if names != "" && !slices.Contains(strings.Split(names, ","), t.Name) {
			continue
		}
		o := &colorimg.Options{KeepMask: true}
		if told {
			o.Bloom = &colorimg.Point{t.Bloom[0], t.Bloom[1]}
		}
		r, err := colorimg.Measure(context.Background(), filepath.Join(folder, t.File), o)
		if r == nil {
			return err
		}
		x := row{Name: t.Name, Status: string(r.Status), Flags: r.Flags, Precision: r.SE.Precision, Sure: r.Petal.Sure, Want: t.Lab,
			Counts: !t.TwoColours && t.PetalClipped <= 1./3 && t.Lab != nil, Shape: t.PetalClipped <= 1./3}
		if r.Lab != nil && t.Lab != nil {
			e := cie.DeltaE2000(r.Lab.Lab(), cie.Lab{L: t.Lab[0], A: t.Lab[1], B: t.Lab[2]})
			x.E, x.Lab = &e, (*[3]float64)(r.Lab)
		}
		if r.Mask != nil {
			if x.IoU, err = overlap(r.Mask, filepath.Join(folder, t.Mask)); err != nil {
				return err
			}
			if out != "" {
				if err := draw(filepath.Join(folder, t.File), r.Mask, filepath.Join(out, t.Name+".png")); err != nil {
					return err
				}
			}
		}
		rows = append(rows, x)
	}
	text, err := json.Marshal(rows)
	fmt.Println(string(text))
	return err
}

// overlap is the intersection of a mask and the one in a file over their union.
func overlap(got *image.Gray, file string) (float64, error) {
	f, err := os.Open(file)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	want, _, err := image.Decode(f)
	if err != nil {
		return 0, err
	}
	both, either := 0, 0
	for y := range want.Bounds().Dy() {
		for x := range want.Bounds().Dx() {
			w, _, _, _ := want.At(x, y).RGBA()
			a, b := got.GrayAt(x, y).Y > 127, w > 0x7fff
			if a && b {
				both++
			}
			if a || b {
				either++
			}
		}
	}
	return float64(both) / float64(max(1, either)), nil
}

// draw writes the photo, what is not in the mask dimmed.
func draw(photo string, mask *image.Gray, to string) error {
	im, err := imaging.Open(photo)
	if err != nil {
		return err
	}
	out := imaging.Clone(im)
	for i := range mask.Pix {
		if mask.Pix[i] == 0 {
			for c := range 3 {
				out.Pix[4*i+c] /= 4
			}
		}
	}
	return imaging.Save(imaging.Resize(out, 300, 0, imaging.Box), to)
}
