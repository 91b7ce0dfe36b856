// Command draw writes made-up photos with their labels for the petal finder to
// learn from: NAME.jpg, and NAME.png with 255 where petal of the main bloom, 128
// where its disc or what lies on it, 0 elsewhere. See ../README.md.
package main

import (
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"

	"github.com/disintegration/imaging"

	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

func main() {
	out := flag.String("out", "drawn", "folder to write to")
	n := flag.Int("n", 400, "photos of each set of scenes")
	seed := flag.Int64("seed", 77, "of the scenes; the tests use others")
	from := flag.Int("from", 0, "first scene")
	empty := flag.Int("empty", 0, "photos without a bloom")
	flag.Parse()
	if err := run(*out, *from, *n, *seed, *empty); err != nil {
		log.Fatal(err)
	}
}

func run(out string, from, n int, seed int64, empty int) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	for i := range empty {
		s := scenes.Awkward(i, seed+3)
		if i%2 == 0 {
			s = scenes.Varied(i, seed+3)
		}
		s.Width, s.Height, s.Blooms, s.At = 640, 480, 0, [2]float64{9, 9}
		im, t := render.Draw(s)
		if err := write(filepath.Join(out, fmt.Sprintf("e%04d_0", i)), im, labels(t.Mask)); err != nil {
			return err
		}
	}
	for i := from; i < n; i++ {
		for k, s := range []render.Scene{scenes.Varied(i, seed), scenes.Hard(i, seed+1), scenes.Awkward(i, seed+2)} {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(3*i+k)))
			s.Width, s.Height = 640, 480
			if r.IntN(3) == 0 { // larger, smaller, off the middle
				s.Diameter = 0.18 + 0.8*r.Float64()
				s.At = [2]float64{0.25 + 0.5*r.Float64(), 0.25 + 0.5*r.Float64()}
			}
			if r.IntN(4) == 0 {
				s.Blooms = 1 + r.IntN(4)
			}
			im, t := render.Draw(s)
			if t.Pixels == 0 {
				continue
			}
			name := filepath.Join(out, fmt.Sprintf("%c%04d_%d", "vha"[k], i, min(s.Blooms, 1)))
			if err := write(name, im, labels(t.Mask)); err != nil {
				return err
			}
		}
	}
	return nil
}

// labels fills the holes of the petals' mask with 128.
func labels(m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	out := image.NewGray(m.Rect)
	for i := range out.Pix {
		out.Pix[i] = 128
	}
	var todo []int
	reach := func(x, y int) {
		if x < 0 || y < 0 || x >= w || y >= h {
			return
		}
		if i := y*w + x; m.Pix[i] == 0 && out.Pix[i] != 0 {
			out.Pix[i] = 0
			todo = append(todo, i)
		}
	}
	for x := range w {
		reach(x, 0)
		reach(x, h-1)
	}
	for y := range h {
		reach(0, y)
		reach(w-1, y)
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		x, y := i%w, i/w
		reach(x-1, y)
		reach(x+1, y)
		reach(x, y-1)
		reach(x, y+1)
	}
	for i, v := range m.Pix {
		if v != 0 {
			out.Pix[i] = 255
		}
	}
	return out
}

func write(name string, im image.Image, label *image.Gray) error {
	small := imaging.Resize(im, 320, 240, imaging.Box)
	f, err := os.Create(name + ".jpg")
	if err != nil {
		return err
	}
	defer f.Close()
	if err := jpeg.Encode(f, small, &jpeg.Options{Quality: 88}); err != nil {
		return err
	}
	g, err := os.Create(name + ".png")
	if err != nil {
		return err
	}
	defer g.Close()
	lab := image.NewPaletted(image.Rect(0, 0, 320, 240), color.Palette{color.Gray{0}, color.Gray{128}, color.Gray{255}})
	for y := range 240 {
		for x := range 320 {
			lab.Pix[y*lab.Stride+x] = map[uint8]uint8{0: 0, 128: 1, 255: 2}[label.GrayAt(2*x, 2*y).Y]
		}
	}
	return png.Encode(g, lab)
}
