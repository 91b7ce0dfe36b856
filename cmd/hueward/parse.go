package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hueward/colorimg"
)

// numbers reads n numbers with commas between them.
func numbers(flag, s, form string, n int) ([]float64, error) {
	parts := strings.Split(s, ",")
	if len(parts) != n {
		return nil, usagef("--%s %q: want %s, such as --%s %s", flag, s, form, flag, sample[form])
	}
	v := make([]float64, n)
	for i, p := range parts {
		x, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, usagef("--%s %q: %q is not a number; write it such as --%s %s", flag, s, strings.TrimSpace(p), flag, sample[form])
		}
		v[i] = x
	}
	return v, nil
}

var sample = map[string]string{"x,y": "1210,840", "x,y,w,h": "300,420,180,120", cornersForm: "210,180,1390,190,1380,1010,200,1000"}

func parseBloom(s string) (*colorimg.Point, error) {
	v, err := numbers("bloom", s, "x,y", 2)
	if err != nil {
		return nil, err
	}
	return &colorimg.Point{v[0], v[1]}, nil
}

func parseCard(s string) (*[4]colorimg.Point, error) {
	v, err := numbers("card", s, "x,y,w,h", 4)
	if err != nil {
		return nil, err
	}
	if v[2] <= 0 || v[3] <= 0 {
		return nil, usagef("--card %q: width and height must be above 0", s)
	}
	return cornersOf([4]float64{v[0], v[1], v[2], v[3]}), nil
}

// cornersOf is a rectangle's corners, clockwise. Pixel centres are whole
// numbers, so a rectangle of w pixels from x reaches from x - 0.5 on.
func cornersOf(r [4]float64) *[4]colorimg.Point {
	x, y, w, h := r[0]-0.5, r[1]-0.5, r[2], r[3]
	return &[4]colorimg.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// some is "1 photo" or "3 photos".
func some(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
