package petal_test

import (
	"fmt"
	"sort"
	"testing"

	"hueward/colorimg/render"
)

func TestScratchNone(t *testing.T) {
	for _, g := range render.Grounds[4:] {
		for seed := range int64(30) {
			s := render.Scene{Ground: g, At: [2]float64{-3, -3}, Seed: seed, EV: -0.5, Card: render.CardSpec{At: &[2]float64{0.3, 0.6}}}
			x := shoot(t, s)
			b, err := x.find(nil)
			if err == nil {
				fmt.Println(g, seed, b.Score, b.Radius)
			}
		}
	}
}
func TestScratchScores(t *testing.T) {
	type r struct {
		s, u float64
		n    string
	}
	var v []r
	for i := range 100 {
		s := render.Varied(i, 2)
		s.Width, s.Height = 800, 600
		x := shoot(t, s)
		b, err := x.find(nil)
		if err != nil {
			fmt.Println("none", i, err)
			continue
		}
		v = append(v, r{b.Score, iou(b.Mask, x.truth.Mask), fmt.Sprint(s.Ground, s.Form, s.Petal)})
	}
	sort.Slice(v, func(a, b int) bool { return v[a].s < v[b].s })
	for _, x := range v[:20] {
		fmt.Println(x)
	}
}
