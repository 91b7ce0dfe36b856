package tag

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/photo"
	"hueward/colorimg/shape"
)

// Tag is a QR code seen in a photo.
type Tag struct {
	Text string // as printed; empty: a code is there, but cannot be read
	// of the dark modules' outer edge: top left, top right, bottom right, bottom left as printed;
	// full-size pixels as displayed, centres whole numbers
	Corners [4][2]float64
	Modules int // a side; of a code that cannot be read, about
}

// Read returns the codes in the photo, the largest first; none is nil.
func Read(p *photo.Photo) []Tag {
	l := p.Lightness()
	return read(&l)
}

func read(l *photo.Lightness) []Tag {
	if l.W < 21 || l.H < 21 {
		return nil
	}
	fs := finders(l)
	if len(fs) < 2 {
		return nil
	}
	var tags []Tag
	used := map[*finder]bool{}
	take := func(g *group, t Tag) {
		tags = append(tags, t)
		for _, f := range g.f {
			used[f] = f != nil
		}
	}
	three := triples(fs)
	three = three[:min(len(three), maxTriples)]
	for pass := range 2 { // those that can be read have the first choice
		for i := range three {
			g := &three[i]
			if used[g.f[0]] || used[g.f[1]] || used[g.f[2]] {
				continue
			}
			if t := g.read(l); t.Text != "" || pass == 1 && t.Modules > 0 {
				take(g, t)
			}
		}
	}
	tries := maxPairs
	for i := range fs {
		for j := range i {
			if used[&fs[i]] || used[&fs[j]] || tries == 0 {
				continue
			}
			var seen *Tag
			var by group
			ways := pairs(&fs[j], &fs[i])
			if ways != nil {
				tries--
			}
			for _, g := range ways {
				t, sure := g.readPair(l)
				if t.Text != "" || sure && seen == nil {
					seen, by = &t, g
				}
				if t.Text != "" {
					break
				}
			}
			if seen != nil {
				take(&by, *seen)
			}
		}
	}
	slices.SortStableFunc(tags, func(a, b Tag) int { return -cmp.Compare(shape.Turned(a.Corners[:]), shape.Turned(b.Corners[:])) })
	return tags
}

// How many sets of three are tried, the squarest first, and how many of two: more
// come from a picture that is made to waste time.
const (
	maxTriples = 24
	maxPairs   = 24
)

// dims are the sizes that a code may have whose patterns are so far apart, the likeliest first.
func (g *group) dims() []int {
	version := (g.across - 14) / 4 // counted from 0
	first := int(math.Round(version))
	var d []int
	for _, v := range []int{first, first + 1, first - 1} {
		if v >= 0 && v < 40 && math.Abs(float64(v)-version) < 0.6+0.04*version {
			d = append(d, 21+4*v)
		}
	}
	return d
}

// read reads the code of a group of three. Without text: it is there, but
// cannot be read; without modules too: it is no code.
func (g *group) read(l *photo.Lightness) Tag {
	var there Tag
	long := float64(max(l.W, l.H))
	var last symbol
	for _, dim := range g.dims() {
		s, ok := g.fit(dim, long)
		if !ok {
			continue
		}
		if there.Modules == 0 {
			there = Tag{Corners: s.corners(), Modules: dim}
			last = s
		}
		if t := s.read(l); t.Text != "" {
			return t
		}
	}
	if there.Modules == 0 {
		return there
	}
	// A bent tag: its last corner lies elsewhere than the others say.
	for _, d := range bends {
		if s, ok := last.moved(d[0], d[1]); ok {
			if t := s.plain(l); t.Text != "" {
				return t
			}
		}
	}
	return there
}

// bends are the moves of the last corner that are tried, in modules.
var bends = func() (d [][2]float64) {
	for j := -2; j <= 2; j++ {
		for i := -2; i <= 2; i++ {
			if i != 0 || j != 0 {
				d = append(d, [2]float64{float64(i) * 0.6, float64(j) * 0.6})
			}
		}
	}
	slices.SortStableFunc(d, func(a, b [2]float64) int {
		return cmp.Compare(a[0]*a[0]+a[1]*a[1], b[0]*b[0]+b[1]*b[1])
	})
	return d
}()

// read reads the symbol; where that fails, with its alignment pattern where it is seen.
func (s *symbol) read(l *photo.Lightness) Tag {
	t := s.plain(l)
	if t.Text == "" {
		if a, ok := s.aligned(l); ok {
			if u := a.plain(l); u.Text != "" {
				return u
			}
		}
	}
	return t
}

// plain reads the symbol as it lies.
func (s *symbol) plain(l *photo.Lightness) Tag {
	t := Tag{Corners: s.corners(), Modules: s.dim}
	if g, ok := s.grid(l); ok {
		if a, b := g.timing(); a+b > 1.2 {
			t.Text = g.text()
		}
	}
	return t
}

// readPair reads a code of which only two corner patterns are seen. Two such are less likely to be a code than three:
// sure tells that modules alternate between them as they must.
func (g *group) readPair(l *photo.Lightness) (t Tag, sure bool) {
	for _, dim := range g.dims() {
		s, ok := g.fit(dim, float64(max(l.W, l.H)))
		if !ok {
			continue
		}
		gr, ok := s.grid(l)
		if !ok {
			continue
		}
		top, left := gr.timing()
		if g.f[topRight] == nil {
			top = 0
		}
		if g.f[bottomLeft] == nil {
			left = 0
		}
		if max(top, left) < 0.8 {
			continue
		}
		if u := s.read(l); u.Text != "" {
			return u, true
		}
		if !sure {
			t, sure = Tag{Corners: s.corners(), Modules: dim}, true
		}
	}
	return t, sure
}

// Choice is what the codes of a photo say of it.
type Choice struct {
	Tag        Tag
	Payload    Payload
	Found      bool // a code of ours, or one that names a plant
	Unreadable bool // no such code, and one that cannot be read
	Rival      bool // another code names another plant
}

// Choose returns the code that names the photo's plant: the largest that names
// one; where none does, the largest that is ours. See the package comment.
func Choose(tags []Tag) Choice {
	var c Choice
	for _, t := range tags {
		if t.Text == "" {
			c.Unreadable = true
			if !c.Found && c.Tag.Modules == 0 {
				c.Tag = t
			}
			continue
		}
		p, ok := Parse(t.Text)
		switch {
		case !ok:
		case !c.Found, c.Payload.Plant == "" && p.Plant != "":
			c.Tag, c.Payload, c.Found = t, p, true
		case p.Plant != "" && p.Plant != c.Payload.Plant:
			c.Rival = true
		}
	}
	c.Unreadable = c.Unreadable && !c.Found
	return c
}
