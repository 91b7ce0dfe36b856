package petal

import (
	"math"
	"slices"
	"sync"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal/net"
)

// view is the network's picture as a part of the working picture: its pixel
// (i, j) covers the square of side scale from (x0 + i·scale, y0 + j·scale), in
// coordinates where working pixels begin at whole numbers.
type view struct {
	x0, y0, scale float64
	w, h          int
}

// toWork and toView convert positions, pixel centres at whole numbers, into each other.
func (v *view) toWork(x, y float64) (float64, float64) {
	return v.x0 + (x+0.5)*v.scale - 0.5, v.y0 + (y+0.5)*v.scale - 0.5
}

func (v *view) toView(x, y float64) (float64, float64) {
	return (x+0.5-v.x0)/v.scale - 0.5, (y+0.5-v.y0)/v.scale - 0.5
}

// chances are the network's probabilities in a view.
type chances struct {
	view
	p [net.Classes][]float32 // w × h
}

// mark is a place that the user marked as bloom or as something else; radius is that of the
// brush, 0 for a point.
type mark struct {
	at     [2]float64
	radius float64
}

// sayings are the user's marks, in working pixels: of the bloom, and of other things.
type sayings struct{ in, out []mark }

// saying collects the marks from the point and the strokes.
func saying(opt *Options) sayings {
	var s sayings
	if opt.Bloom != nil {
		s.in = append(s.in, mark{*opt.Bloom, 0})
	}
	for _, k := range opt.Strokes {
		step, to := max(1, len(k.Points)/8), &s.out
		if k.In {
			to = &s.in
		}
		for i := 0; i < len(k.Points); i += step {
			*to = append(*to, mark{k.Points[i], k.Radius})
		}
	}
	return s
}

// wholeView returns the view of the whole picture, of about wholeSide² pixels.
func (s *scene) wholeView() view {
	W, H := float64(s.im.W), float64(s.im.H)
	v := view{scale: math.Sqrt(W*H) / wholeSide}
	v.w, v.h = upTo(W/v.scale), upTo(H/v.scale)
	v.x0, v.y0 = (W-float64(v.w)*v.scale)/2, (H-float64(v.h)*v.scale)/2
	return v
}

// upTo returns side, rounded up to a multiple of net.Multiple.
func upTo(side float64) int {
	return max(1, int(math.Ceil(side/net.Multiple-0.02))) * net.Multiple
}

// closeView returns the square view around a bloom's box.
func (s *scene) closeView(box [4]float64) view {
	side := max(box[2]-box[0], box[3]-box[1]) / bloomShare
	// No more than the picture has, with a little around it.
	side = min(max(side, 24), 1.1*float64(max(s.im.W, s.im.H)))
	x, y := (box[0]+box[2])/2+0.5, (box[1]+box[3])/2+0.5
	return view{scale: side / closeSide, w: closeSide, h: closeSide, x0: x - side/2, y0: y - side/2}
}

// cutShort reports whether the bloom reaches the view's rim where the picture goes on.
func (p *chances) cutShort(c *candidate) bool {
	W, H := p.x0+float64(p.w)*p.scale, p.y0+float64(p.h)*p.scale
	near := 2 * p.scale
	return p.x0 > 0 && c.box[0] < p.x0+near || p.y0 > 0 && c.box[1] < p.y0+near || c.box[2] > W-near || c.box[3] > H-near
}

// lookAgain is the [Bloom.Sure] below which a bloom is looked at once more, mirrored: a third of real
// photos. Our own choice; on those that are surer it changes little.
const lookAgain = 0.92

// look runs the network on a view; where the outcome is less sure than sure, it averages that with the outcome for the
// mirror image, as the mean is better than either. Pixels that skip names become net.None.
func (s *scene) look(v view, said sayings, skip func(x, y int) bool, sure float64) *chances {
	in := s.input(v, said)
	p := v.chances(net.Finder().Run(in, v.h, v.w), skip)
	if p.sureness() >= sure {
		return p
	}
	mirror(in, v.w)
	out := net.Finder().Run(in, v.h, v.w)
	mirror(out, v.w)
	for c, again := range v.chances(out, skip).p {
		for i, q := range again {
			p.p[c][i] = (p.p[c][i] + q) / 2
		}
	}
	return p
}

// mirror reverses each row of planes, of width w.
func mirror(planes []float32, w int) {
	for at := 0; at < len(planes); at += w {
		slices.Reverse(planes[at : at+w])
	}
}

// input returns the network's input for a view: see [net.Inputs].
func (s *scene) input(v view, said sayings) []float32 {
	n := v.w * v.h
	in, curve := make([]float32, net.Inputs*n), theCurve()
	for i := range in[:3*n] {
		in[i] = -0.5
	}
	parallel(v.h, func(j int) {
		for i := range v.w {
			r, g, b, ok := s.patch(v, i, j)
			if !ok {
				continue
			}
			for c, x := range [3]float64{r * s.gains[0], g * s.gains[1], b * s.gains[2]} {
				in[c*n+j*v.w+i] = curve.at(x)
			}
		}
	})
	v.put(in[3*n:4*n], said.in)
	v.put(in[4*n:], said.out)
	return in
}

// curve is a table of the network's input for linear channels from 0 to 1.5, curveSteps for 1: the sRGB code, at most 1.1,
// less 0.5.
type curve [curveSteps*3/2 + 1]float64

const curveSteps = 2800

var theCurve = sync.OnceValue(func() *curve {
	c := new(curve)
	for i := range c {
		c[i] = min(cie.Encode(float64(i)/curveSteps), 1.1) - 0.5
	}
	return c
})

// at returns the input for the linear channel x, by interpolation, within 0.000 04.
func (c *curve) at(x float64) float32 {
	x = min(max(x, 0), 1.5) * curveSteps
	i := min(int(x), len(c)-2)
	return float32(c[i] + (c[i+1]-c[i])*(x-float64(i)))
}

// chances wraps the network's output, Classes × h × w, for the view; pixels that skip names become net.None.
func (v view) chances(out []float32, skip func(x, y int) bool) *chances {
	p := &chances{view: v}
	n := v.w * v.h
	for c := range p.p {
		p.p[c] = out[c*n : (c+1)*n]
	}
	if skip != nil {
		for j := range v.h {
			for i := range v.w {
				x, y := v.toWork(float64(i), float64(j))
				if x > -0.5 && y > -0.5 && skip(int(x+0.5), int(y+0.5)) {
					k := j*v.w + i
					p.p[net.Petal][k], p.p[net.Disc][k], p.p[net.Other][k], p.p[net.None][k] = 0, 0, 0, 1
				}
			}
		}
	}
	return p
}

// spotSize is the standard deviation of the Gaussian spot that stands for a mark, in
// pixels of the network's picture, as in training: SPOT of learn/scenes.py.
const spotSize = 2.5

// put draws marks on an input plane of the network.
func (v *view) put(plane []float32, marks []mark) {
	for _, m := range marks {
		x, y := v.toView(m.at[0], m.at[1])
		reach := 4 * spotSize
		for j := max(0, int(y-reach)); j < min(v.h, int(y+reach)+2); j++ {
			for i := max(0, int(x-reach)); i < min(v.w, int(x+reach)+2); i++ {
				dx, dy := float64(i)-x, float64(j)-y
				k := j*v.w + i
				plane[k] = max(plane[k], float32(math.Exp(-(dx*dx+dy*dy)/(2*spotSize*spotSize))))
			}
		}
	}
}

// patch returns the mean linear colour of what pixel (i, j) of a view covers; ok is
// false outside the picture.
func (s *scene) patch(v view, i, j int) (r, g, b float64, ok bool) {
	W, H := s.im.W, s.im.H
	x0, y0 := v.x0+float64(i)*v.scale, v.y0+float64(j)*v.scale
	if x0+v.scale/2 < 0 || y0+v.scale/2 < 0 || x0+v.scale/2 >= float64(W) || y0+v.scale/2 >= float64(H) {
		return 0, 0, 0, false
	}
	if v.scale < 1.5 {
		return s.between(x0+v.scale/2-0.5, y0+v.scale/2-0.5)
	}
	ax, ay := min(max(int(x0+0.5), 0), W-1), min(max(int(y0+0.5), 0), H-1)
	bx, by := min(max(int(x0+v.scale+0.5), ax+1), W), min(max(int(y0+v.scale+0.5), ay+1), H)
	var sr, sg, sb float32
	for y := ay; y < by; y++ {
		row := s.im.Pix[3*(y*W+ax) : 3*(y*W+bx)]
		for k := 0; k+2 < len(row); k += 3 {
			sr, sg, sb = sr+row[k], sg+row[k+1], sb+row[k+2]
		}
	}
	k := 1 / float64((bx-ax)*(by-ay))
	return float64(sr) * k, float64(sg) * k, float64(sb) * k, true
}

// between returns the colour at a working position, by bilinear interpolation.
func (s *scene) between(x, y float64) (r, g, b float64, ok bool) {
	W, H := s.im.W, s.im.H
	x, y = min(max(x, 0), float64(W-1)), min(max(y, 0), float64(H-1))
	ix, iy := int(x), int(y)
	fx, fy := x-float64(ix), y-float64(iy)
	var c [3]float64
	for dy, ky := range [2]float64{1 - fy, fy} {
		for dx, kx := range [2]float64{1 - fx, fx} {
			p := s.im.Pix[3*(min(iy+dy, H-1)*W+min(ix+dx, W-1)):]
			for k := range c {
				c[k] += kx * ky * float64(p[k])
			}
		}
	}
	return c[0], c[1], c[2], true
}
