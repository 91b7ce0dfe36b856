package render

// plane leads from the unit square, (0,0) (1,0) (1,1) (0,1), to a quad as a
// camera sees it: x = (h0 u + h1 v + h2) / (h6 u + h7 v + 1), y likewise with
// h3 to h5. Heckbert 1989, Fundamentals of Texture Mapping, section 2.2.3.
type plane [8]float64

func (q quad) plane() plane {
	x0, y0, x1, y1 := q[0][0], q[0][1], q[1][0], q[1][1]
	x2, y2, x3, y3 := q[2][0], q[2][1], q[3][0], q[3][1]
	dx1, dx2, sx := x1-x2, x3-x2, x0-x1+x2-x3
	dy1, dy2, sy := y1-y2, y3-y2, y0-y1+y2-y3
	den := dx1*dy2 - dx2*dy1
	g, h := (sx*dy2-dx2*sy)/den, (dx1*sy-sx*dy1)/den
	return plane{x1 - x0 + g*x1, x3 - x0 + h*x3, x0, y1 - y0 + g*y1, y3 - y0 + h*y3, y0, g, h}
}

func (p plane) at(u, v float64) [2]float64 {
	w := p[6]*u + p[7]*v + 1
	return [2]float64{(p[0]*u + p[1]*v + p[2]) / w, (p[3]*u + p[4]*v + p[5]) / w}
}

// from returns the place of the unit square that x, y shows.
func (p plane) from(x, y float64) (u, v float64) {
	a, b, c, d := p[0]-p[6]*x, p[1]-p[7]*x, p[3]-p[6]*y, p[4]-p[7]*y
	e, f := x-p[2], y-p[5]
	den := a*d - b*c
	return (e*d - b*f) / den, (a*f - e*c) / den
}

// part is the quad of the rectangle from u0, v0 to u1, v1.
func (p plane) part(u0, v0, u1, v1 float64) quad {
	return quad{p.at(u0, v0), p.at(u1, v0), p.at(u1, v1), p.at(u0, v1)}
}
