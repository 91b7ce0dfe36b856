// Package pathdata encodes the outline of a bloom as text: a JSON string with SVG path data, such as "M367.5
// 167.5h16v2l3 -1.5z", in pixels of the photo as displayed. Each polygon begins with M and its first point, goes on
// with l, h and v by steps relative to the point before, and ends with z. The text is a quarter to a third as long as
// the points as JSON, which earlier books hold and which are read, too.
//
// Start with [Text] and [Parse].
//
// Source: W3C, Scalable Vector Graphics (SVG) 1.1, section 8.3, path data.
package pathdata

import (
	"encoding/json"
	"errors"
	"math"
	"strconv"
	"strings"

	"hueward/colorimg"
)

// mostTenths is how far a point of a path may lie from the photo's corner, in tenths of a pixel.
const mostTenths = 1e10

// Text returns the outline as the book keeps it: as a path, or as points if
// a coordinate is not a whole number of tenths of a pixel.
func Text(outline [][]colorimg.Point) string {
	if len(outline) == 0 {
		return points(outline)
	}
	b := []byte{'"'}
	for _, ring := range outline {
		if len(ring) == 0 {
			return points(outline)
		}
		var last [2]int64
		for i, p := range ring {
			var at [2]int64
			for k, v := range p {
				t := math.Round(v * 10)
				if !(math.Abs(t) < mostTenths) || t/10 != v || math.Signbit(v) != (t < 0) {
					return points(outline)
				}
				at[k] = int64(t)
			}
			dx, dy := at[0]-last[0], at[1]-last[1]
			last = at
			switch {
			case i == 0:
				b = appendTenths(append(b, 'M'), dx)
				b = appendTenths(append(b, ' '), dy)
			case dy == 0:
				b = appendTenths(append(b, 'h'), dx)
			case dx == 0:
				b = appendTenths(append(b, 'v'), dy)
			default:
				b = appendTenths(append(b, 'l'), dx)
				b = appendTenths(append(b, ' '), dy)
			}
		}
		b = append(b, 'z')
	}
	return string(append(b, '"'))
}

// appendTenths appends t/10 as a decimal number.
func appendTenths(b []byte, t int64) []byte {
	if t < 0 {
		b, t = append(b, '-'), -t
	}
	b = strconv.AppendInt(b, t/10, 10)
	if d := t % 10; d != 0 {
		b = append(b, '.', byte('0'+d))
	}
	return b
}

// points returns the outline as lists of points in JSON.
func points(outline [][]colorimg.Point) string {
	b, err := json.Marshal(outline)
	if err != nil {
		return "null"
	}
	return string(b)
}

var errOutline = errors.New("is not an outline")

// Parse reads what [Text] returned.
func Parse(s string) (out [][]colorimg.Point, err error) {
	path, ok := pathOf(s)
	if !ok {
		err = json.Unmarshal([]byte(s), &out)
		return out, err
	}
	var x, y int64 // tenths of a pixel
	open := false  // a polygon that z has not ended yet
	for path != "" {
		c := path[0]
		path = path[1:]
		if open == (c == 'M') {
			return nil, errOutline
		}
		if c == 'z' {
			open = false
			continue
		}
		var d [2]int64
		numbers := d[:2]
		switch c {
		case 'M':
			x, y, open = 0, 0, true
			out = append(out, nil)
		case 'l':
		case 'h':
			numbers = d[:1]
		case 'v':
			numbers = d[1:]
		default:
			return nil, errOutline
		}
		for i := range numbers {
			ok := i == 0
			if !ok {
				if path, ok = strings.CutPrefix(path, " "); !ok {
					return nil, errOutline
				}
			}
			if numbers[i], path, ok = cutTenths(path); !ok {
				return nil, errOutline
			}
		}
		x, y = x+d[0], y+d[1]
		ring := &out[len(out)-1]
		*ring = append(*ring, colorimg.Point{float64(x) / 10, float64(y) / 10})
	}
	if open {
		return nil, errOutline
	}
	return out, nil
}

// Check reports whether the outline can be read.
func Check(s string) error {
	_, err := Parse(s)
	return err
}

// pathOf returns the path in a JSON string; ok is false for other JSON.
func pathOf(s string) (path string, ok bool) {
	if len(s) < 2 || s[0] != '"' || s[len(s)-1] != '"' {
		return "", false
	}
	return s[1 : len(s)-1], true
}

// cutTenths reads the decimal number at the beginning of s, in tenths, and returns the rest of s.
func cutTenths(s string) (t int64, rest string, ok bool) {
	i := 0
	minus := s != "" && s[0] == '-'
	if minus {
		i++
	}
	from := i
	for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
		// With this limit, a sum of as many numbers as a field can hold does not overflow.
		if t = t*10 + int64(s[i]-'0'); t >= mostTenths {
			return 0, s, false
		}
	}
	if i == from {
		return 0, s, false
	}
	t *= 10
	if i+1 < len(s) && s[i] == '.' && s[i+1] >= '0' && s[i+1] <= '9' {
		t += int64(s[i+1] - '0')
		i += 2
	}
	if minus {
		t = -t
	}
	return t, s[i:], true
}
