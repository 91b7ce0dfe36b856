package photoflag

import (
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
	"hueward/selection/written"
)

// numbers reads n numbers with commas between them; see [written.Numbers].
func numbers(flag, s, form string, n int) ([]float64, error) {
	v, err := written.Numbers(s)
	switch {
	case err != nil && strings.Count(s, ",") == n-1:
		return nil, cli.Usagef("--%s %q: %w; write it such as --%s %s", flag, s, err, flag, sample[form])
	case err != nil || len(v) != n:
		return nil, cli.Usagef("--%s %q: want %s, such as --%s %s", flag, s, form, flag, sample[form])
	}
	return v, nil
}

var sample = map[string]string{"x,y": "1210,840", "x,y,w,h": "300,420,180,120", cornersForm: "210,180,1390,190,1380,1010,200,1000",
	stripForm: stripSample}

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
		return nil, cli.Usagef("--card %q: width and height must be above 0", s)
	}
	return CornersOf([4]float64{v[0], v[1], v[2], v[3]}), nil
}

// CornersOf is a rectangle's corners, clockwise. Pixel centres are whole
// numbers, so a rectangle of w pixels from x reaches from x - 0.5 on.
func CornersOf(r [4]float64) *[4]colorimg.Point {
	x, y, w, h := r[0]-0.5, r[1]-0.5, r[2], r[3]
	return &[4]colorimg.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

const cornersForm = "x1,y1,x2,y2,x3,y3,x4,y4"

// Corners reads four corners, and turns them clockwise.
func Corners(s string) (*[4]colorimg.Point, error) {
	v, err := numbers("corners", s, cornersForm, 8)
	if err != nil {
		return nil, err
	}
	var c [4]colorimg.Point
	for i := range c {
		c[i] = colorimg.Point{v[2*i], v[2*i+1]}
	}
	left, right := 0, 0 // turns on the way around
	for i := range c {
		p, q, r := c[i], c[(i+1)%4], c[(i+2)%4]
		switch z := (q[0]-p[0])*(r[1]-q[1]) - (q[1]-p[1])*(r[0]-q[0]); {
		case z > 0:
			right++
		case z < 0:
			left++
		}
	}
	switch {
	case left == 4:
		c[1], c[3] = c[3], c[1]
	case right != 4:
		return nil, cli.Usagef("--corners %q: these are not the corners of one area in order around it; give them such as --corners %s", s,
			sample[cornersForm])
	}
	return &c, nil
}

const (
	stripForm   = "white,grey,black"
	stripSample = "0.9,0.18,0.035"
)

// parseStrip reads what the three parts of a strip reflect.
func parseStrip(s string) (y [3]float64, err error) {
	v, err := numbers("strip", s, stripForm, 3)
	if err != nil {
		return y, err
	}
	if !(v[0] <= 1 && v[0] > v[1] && v[1] > v[2] && v[2] > 0) {
		return y, cli.Usagef("--strip %q: want shares of the light, white above grey above black, all above 0 and at most 1, such as --strip %s",
			s, stripSample)
	}
	return [3]float64(v), nil
}
