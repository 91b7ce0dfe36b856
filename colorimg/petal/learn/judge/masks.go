package main

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
)

// apart lists the photos whose masks serve to judge and never to learn from.
//
//go:embed masks.txt
var apart string

// What the labels of the masks mean; the other values are none of these.
const (
	unknown = 0
	flower  = 1
)

// leastPart is how many pixels a component of a mask takes to be a bloom of its own.
const leastPart = 250

// masked is what came of one bloom of a photo with a mask.
type masked struct {
	Name  string
	Found bool
	Sure  float64
	IoU   float64 // of petals and disc, what is unknown left out
}

// masks judges the outlines of blooms in light that nothing corrects against masks in a folder with images_256/image_0001.jpg
// and labels_256/image_0001.png. A point on the bloom is at its widest place; by itself the finder may take any bloom.
func masks(folder, out string, told bool) error {
	var rows []masked
	for line := range strings.Lines(apart) {
		f := strings.Fields(line)
		if f[0] == "#" {
			continue
		}
		name := "image_" + f[0]
		p, err := photo.Open(context.Background(), filepath.Join(folder, "images_256", name+".jpg"), nil)
		if err != nil {
			return err
		}
		m, err := readMask(filepath.Join(folder, "labels_256", name+".png"), f[1] == "each")
		if err != nil {
			return err
		}
		var best masked
		for k := range m.parts {
			x := masked{Name: fmt.Sprintf("%s_%d", name, k)}
			var opt petal.Options
			if told {
				at := m.widest(uint8(k + 1))
				opt.Bloom = &at
			}
			if b, err := petal.Find(p.Image, [3]float64{1, 1, 1}, &opt); err == nil {
				x.Found, x.Sure, x.IoU = true, b.Sure, m.overlap(b.Head, uint8(k+1))
				if out != "" {
					head := &image.Gray{Pix: b.Head, Stride: m.w, Rect: image.Rect(0, 0, m.w, m.h)}
					if err := draw(filepath.Join(folder, "images_256", name+".jpg"), head, filepath.Join(out, x.Name+".png")); err != nil {
						return err
					}
				}
			}
			if told {
				rows = append(rows, x)
			} else if k == 0 || x.IoU > best.IoU {
				best = x
			}
		}
		if !told {
			rows = append(rows, best)
		}
	}
	text, err := json.Marshal(rows)
	fmt.Println(string(text))
	v := make([]float64, len(rows))
	low := [2]int{}
	for i, r := range rows {
		v[i] = r.IoU
		if r.IoU < 0.7 {
			low[0]++
		}
		if r.IoU < 0.8 {
			low[1]++
		}
	}
	slices.Sort(v)
	fmt.Fprintf(os.Stderr, "%d blooms: median %.3f, under 0.7 in %d, under 0.8 in %d\n", len(v), v[len(v)/2], low[0], low[1])
	return err
}

// mask says of each pixel which bloom it shows, from 1, 0 none, 255 not known.
type mask struct {
	w, h  int
	pix   []uint8
	parts int
}

// readMask reads a mask whose flower is one bloom, or whose components are one each.
func readMask(file string, each bool) (*mask, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	im, _, err := image.Decode(f)
	if err != nil {
		return nil, err
	}
	labels, ok := im.(*image.Paletted)
	if !ok {
		return nil, fmt.Errorf("%s: not a picture with a palette", file)
	}
	m := &mask{w: labels.Rect.Dx(), h: labels.Rect.Dy(), pix: make([]uint8, len(labels.Pix)), parts: 1}
	if len(labels.Pix) != m.w*m.h {
		return nil, fmt.Errorf("%s: rows of another length", file)
	}
	for i, v := range labels.Pix {
		switch v {
		case unknown:
			m.pix[i] = 255
		case flower:
			m.pix[i] = 1
		}
	}
	if each {
		m.part()
	}
	return m, nil
}

// part numbers the components; small ones count as not known.
func (m *mask) part() {
	const open = 254
	m.parts = 0
	for i, v := range m.pix {
		if v == 1 {
			m.pix[i] = open
		}
	}
	for i := range m.pix {
		if m.pix[i] != open {
			continue
		}
		all := []int{i}
		m.pix[i] = 255
		for n := 0; n < len(all); n++ {
			for _, j := range m.beside(all[n]) {
				if m.pix[j] == open {
					m.pix[j] = 255
					all = append(all, j)
				}
			}
		}
		if len(all) < leastPart {
			continue
		}
		m.parts++
		for _, j := range all {
			m.pix[j] = uint8(m.parts)
		}
	}
}

// beside are the pixels that share a side with pixel i.
func (m *mask) beside(i int) []int {
	var out []int
	if i%m.w > 0 {
		out = append(out, i-1)
	}
	if i%m.w < m.w-1 {
		out = append(out, i+1)
	}
	if i >= m.w {
		out = append(out, i-m.w)
	}
	if i < len(m.pix)-m.w {
		out = append(out, i+m.w)
	}
	return out
}

// widest is the place of bloom k that is farthest from its edge.
func (m *mask) widest(k uint8) [2]float64 {
	in := make([]bool, len(m.pix))
	for i, v := range m.pix {
		in[i] = v == k
	}
	last := slices.Index(in, true)
	for last >= 0 { // peel off its rim
		next := make([]bool, len(in))
		far := -1
		for i, v := range in {
			if next[i] = v && len(m.beside(i)) == 4 && !slices.ContainsFunc(m.beside(i), func(j int) bool { return !in[j] }); next[i] {
				far = i
			}
		}
		if far < 0 {
			break
		}
		in = next
		last = far
	}
	return [2]float64{float64(last % m.w), float64(last / m.w)}
}

// overlap is the intersection of what was found and bloom k over their union.
func (m *mask) overlap(head []uint8, k uint8) float64 {
	both, either := 0, 0
	for i, v := range m.pix {
		if v == 255 {
			continue
		}
		if v == k && head[i] > 0 {
			both++
		}
		if v == k || head[i] > 0 {
			either++
		}
	}
	return float64(both) / float64(max(1, either))
}
