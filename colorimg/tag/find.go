package tag

import (
	"math"
	"slices"

	"hueward/colorimg/photo"
)

// scanPixels is the largest photo that is scanned in steps of one pixel along the scan's lines. Larger ones are scanned in
// longer steps, so that the time does not grow with the photo: a code of 3 % of the width then has more pixels, too.
const scanPixels = 3_500_000

// lines is the photo's longer side over the distance between the scan's lines. A code of 25 modules, 3 % as wide as the
// photo and tilted by 30°, has modules of 1/960 of it. A line meets the inner square of a corner
// pattern at any angle if lines are at most 1.4 modules apart: 1/690.
const lines = 780

// candidate is a place where the scan saw the light and dark runs of a corner
// pattern: the middle of the wide one, and the width of a module.
type candidate struct {
	x, y, unit  float64
	light, dark float64 // the levels there
}

// finders looks for the corner patterns of QR codes.
//
// Any line through the middle of such a pattern crosses dark, light, dark, light, dark in the ratio 1:1:3:1:1, however
// the code is turned and tilted, because its squares have one middle. The scan looks for this along sparse lines; what
// it sees is looked at along rays at full size.
//
// Source: ISO/IEC 18004, the reference decoding algorithm, for the ratio.
func finders(l *photo.Lightness) []finder {
	w, h := l.W, l.H
	along, across := l.DX, l.DY
	swap := along != 1 && along != -1 // lines run down the displayed photo
	if swap {
		along, across = across, along
		w, h = h, w
	}
	step := int(math.Max(1, math.Round(math.Sqrt(float64(w)*float64(h)/scanPixels))))
	apart := max(2, max(w, h)/lines)
	var found []finder
	var s scanner
	for y := apart / 2; y < h; y += apart {
		s.line(l.Pix, l.Origin+y*across, along, w, step)
		for _, c := range s.hits {
			c.y = float64(y)
			if swap {
				c.x, c.y = c.y, c.x
			}
			if seen(found, c.x, c.y) >= 0 {
				continue
			}
			if f, ok := look(l, c, swap); ok {
				found = add(found, f)
			}
			if len(found) > maxFinders {
				return found
			}
		}
	}
	return found
}

// maxFinders ends the scan of a picture made of nothing else.
const maxFinders = 60

// seen returns which of the patterns found so far has (x, y) in its inner square; -1: none.
func seen(found []finder, x, y float64) int {
	return slices.IndexFunc(found, func(f finder) bool {
		s, t := f.local(x, y)
		return math.Abs(s) < 2 && math.Abs(t) < 2
	})
}

// add appends f, or replaces the same pattern where that fits worse.
func add(found []finder, f finder) []finder {
	i := seen(found, f.x, f.y)
	if i < 0 {
		return append(found, f)
	}
	if f.misfit < found[i].misfit {
		found[i] = f
	}
	return found
}

// scanner tells the light and dark runs of a line. A run ends where the lightness has left its extreme by a quarter,
// and by minStep: so the light may fall off along the line, and shade only makes both darker.
type scanner struct {
	hits []candidate
}

// minStep is above what noise and JPEG blocks do in an even area. A guess.
const minStep = 14

// run is one of the last runs of a line: where it began, in pixels, and its extreme.
type run struct {
	from  int
	level int
}

// line scans n pixels from pix[at] on, in steps.
func (s *scanner) line(pix []uint8, at, along, n, step int) {
	s.hits = s.hits[:0]
	var runs [8]run // the last ones, as a ring
	count := 0
	i := 0
	stride := along * step
	p := at
	end := n - step
	ext, sign := int(pix[p]), 1 // the extreme of a light run; of a dark one the sign is -1
	for i < end {
		limit := ext - sign*max(minStep, ext>>2)
		for i < end {
			v := int(pix[p])
			if sign*v > sign*ext {
				ext = v
				limit = ext - sign*max(minStep, ext>>2)
			} else if sign*v < sign*limit {
				break
			}
			i += step
			p += stride
		}
		if i >= end {
			return
		}
		runs[count&7].level = ext
		count++
		ext, sign = int(pix[p]), -sign
		runs[count&7] = run{from: i}
		if sign > 0 && count >= 6 {
			s.check(pix, p, stride, &runs, count, i, step)
		}
	}
}

// check adds a candidate where the last five runs are in the ratio 1:1:3:1:1. The
// light run after them begins at pixel i of the line, pix[p].
//
// Both ends of the three inner runs are known. The outer runs are measured again: where the paper is darker than
// its surroundings, the first dark run began with the paper.
func (s *scanner) check(pix []uint8, p, stride int, runs *[8]run, count, i, step int) {
	r := func(k int) *run { return &runs[(count-k)&7] } // 1: last dark one … 5: first dark one
	m1, m2, m3 := r(1).from-r(2).from, r(2).from-r(3).from, r(3).from-r(4).from
	inner := m1 + m2 + m3 // five modules
	// A run may be a step longer or shorter than it is.
	if m2*10 < inner*4-10*step || m2*10 > inner*8+10*step {
		return
	}
	least, most := inner/10-step, inner*2/5+step
	if m1 < least || m1 > most || m3 < least || m3 > most {
		return
	}
	dark := max(r(1).level, r(3).level, r(5).level)
	light := min(r(2).level, r(4).level)
	deepest := min(r(1).level, r(3).level, r(5).level)
	brightest := max(r(2).level, r(4).level)
	// Blur leaves the narrow runs less contrast than the wide one has.
	if 10*(light-dark) < 3*(brightest-deepest) || light-dark < minStep {
		return
	}
	mid := (light + dark) / 2
	// How many steps the outer runs are dark, from their inner ends.
	width := func(from, by int) int {
		q, n := p+(from-i)/step*stride, 0
		for ; n*step <= most && from+by*n >= 0; n++ {
			if from+by*n >= i && by > 0 {
				return n * step
			}
			if int(pix[q]) > mid && n > 0 {
				break
			}
			q += by / step * stride
		}
		return n * step
	}
	b1, b2 := width(r(4).from-step, -step), width(r(1).from, step)
	if b1 < least || b1 > most || b2 < least || b2 > most {
		return
	}
	s.hits = append(s.hits, candidate{
		x:     float64(r(3).from+r(2).from)/2 - float64(step)/2,
		unit:  math.Max(1, float64(inner)/5),
		light: float64(light+brightest) / 2, dark: float64(deepest+dark) / 2,
	})
}
