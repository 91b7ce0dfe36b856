package report

import (
	"cmp"
	"html/template"
	"math"
	"slices"

	"hueward/colorimg"
)

// view is a season arranged for the template: the same values in groups.
type view struct {
	*Season
	Style             template.CSS
	Heading           string
	Held              bool
	Kept, Reserved    []Plant
	Dropped           int
	Weighed           bool     // other traits count
	Charts            []charts // the same drawing for a wide and a narrow page
	Rows              []row
	Crosses           []crossView
	Paths             []pathView // the same drawing for a wide and a narrow page
	Albums            []album
	Flags             []flagGroup
	Doubtful, Sound   int // photos to be looked at, and not
	HasChance, HasLow bool
	HasEllipse        bool
	Crowded           bool // some marks of a chart carry no name
	Cautions          []string
}

// charts is one width of the season's drawings.
type charts struct {
	Class string
	AB    chartAB
	L     stripL
}

// row is a plant of the ranking.
type row struct {
	Plant
	Bar bar
}

// bar draws a difference on a line from 0, with its interval and the tolerance.
type bar struct {
	W                px
	At, Low, High    px
	Tolerance        px
	HasLow, HasLimit bool
}

// album is one plant's photos.
type album struct {
	ID     string // empty: photos of no known plant
	Plant  *Plant // nil: not ranked
	Photos []picture
}

// picture is one photo as shown.
type picture struct {
	File, Alt, Taken string
	Lab              string       // the reading's colour; empty: none
	URI              template.URL // empty: no picture
	W, H             int
	Reading          *colorimg.Reading
	Doubt            bool
	Doubts           []string
}

// flagGroup is one kind of doubt and the photos that carry it.
type flagGroup struct {
	What, Todo string
	Info       bool
	Files      []flagFile
}

type flagFile struct{ File, Plant string }

func newView(s *Season) (*view, error) {
	v := &view{Season: s, Style: template.CSS(style), Heading: cmp.Or(s.Line, "The season’s plants"), Held: s.Aim == Hold,
		Cautions: usualCautions}
	far := 0.0 // the end of the bars' scale
	for _, p := range s.Plants {
		switch p.Advice {
		case Keep:
			v.Kept = append(v.Kept, p)
		case Reserve:
			v.Reserved = append(v.Reserved, p)
		default:
			v.Dropped++
		}
		v.HasChance = v.HasChance || finite(p.ChanceKept)
		v.HasLow = v.HasLow || interval(p.Nearest(), p.Farthest()) != ""
		v.Weighed = v.Weighed || p.Bonus != 0
		for _, d := range []float64{p.Sorts(), p.Farthest()} {
			if finite(d) {
				far = max(far, d)
			}
		}
	}
	far = max(far, s.Target.Within*1.1)
	for _, p := range s.Plants {
		v.Rows = append(v.Rows, row{p, newBar(p, s.Target.Within, far)})
	}
	if len(s.Plants) > 0 {
		v.Charts = []charts{
			{"wide", newChartAB(s, "wide-ab", 700, 520), newStripL(s, "wide-l", 700)},
			{"narrow", newChartAB(s, "narrow-ab", 340, 360), newStripL(s, "narrow-l", 340)},
		}
		for _, m := range slices.Concat(v.Charts[0].AB.Marks, v.Charts[0].L.Marks, v.Charts[1].AB.Marks, v.Charts[1].L.Marks) {
			v.HasEllipse = v.HasEllipse || m.RX > 0
			v.Crowded = v.Crowded || !m.Label.Placed
		}
	}
	v.Crosses, v.Paths = newCrossViews(s), newPathViews(s)
	var err error
	if v.Albums, err = albums(s); err != nil {
		return nil, err
	}
	for _, a := range v.Albums {
		for _, p := range a.Photos {
			if p.Doubt {
				v.Doubtful++
			} else {
				v.Sound++
			}
		}
	}
	v.Flags = flagGroups(v.Albums)
	return v, nil
}

// newBar draws p's difference on a scale from 0 to far.
func newBar(p Plant, within, far float64) bar {
	const w, edge = 120.0, 5.0
	if far <= 0 {
		far = 1
	}
	at := func(d float64) px { return px(edge + (w-2*edge)*math.Min(1, d/far)) }
	b := bar{W: w, At: at(p.Sorts())}
	if !finite(p.Sorts()) {
		b.At = -10 // outside the drawing
	}
	if interval(p.Nearest(), p.Farthest()) != "" {
		b.HasLow, b.Low, b.High = true, at(p.Nearest()-p.Bonus), at(p.Farthest()-p.Bonus)
	}
	if within > 0 {
		b.HasLimit, b.Tolerance = true, at(within)
	}
	return b
}

// albums puts photos under their plants: ranked plants first, in their order,
// then others as they come, and photos of no known plant last.
func albums(s *Season) ([]album, error) {
	var out []album
	at := map[string]int{}
	for i := range s.Plants {
		p := &s.Plants[i]
		if _, ok := at[p.ID]; !ok {
			at[p.ID] = len(out)
			out = append(out, album{ID: p.ID, Plant: p})
		}
	}
	for _, ph := range s.Photos {
		i, ok := at[ph.Plant]
		if !ok {
			i = len(out)
			at[ph.Plant] = i
			out = append(out, album{ID: ph.Plant})
		}
		pic, err := newPicture(ph)
		if err != nil {
			return nil, err
		}
		out[i].Photos = append(out[i].Photos, pic)
	}
	out = slices.DeleteFunc(out, func(a album) bool { return len(a.Photos) == 0 })
	if i := slices.IndexFunc(out, func(a album) bool { return a.ID == "" }); i >= 0 { // of which there is one at most
		out = append(slices.Delete(slices.Clone(out), i, i+1), out[i])
	}
	return out, nil
}

func newPicture(ph Photo) (picture, error) {
	r := ph.Reading
	if r == nil {
		r = &colorimg.Reading{Flags: []colorimg.Flag{}}
	}
	p := picture{Reading: r, Taken: takenAt(r), File: cmp.Or(baseName(ph.Name), baseName(r.File)), Doubt: r.Status == colorimg.Check}
	if r.Lab != nil {
		p.Lab = labText(r.Lab.Lab())
	}
	for _, f := range r.Flags {
		what, _ := f.Words()
		p.Doubts = append(p.Doubts, what)
	}
	if ph.Thumb == nil {
		return p, nil
	}
	p.Alt = "Photo " + p.File
	if ph.Plant != "" {
		p.Alt += " of plant " + ph.Plant
	}
	switch outlined, carded := len(r.Petal.Outline) > 0, r.Card.Corners != nil; {
	case outlined && carded:
		p.Alt += ", the measured petals and the grey card outlined"
	case outlined:
		p.Alt += ", the measured petals outlined"
	case carded:
		p.Alt += ", the grey card outlined"
	}
	im := DrawOverlay(Thumbnail(ph.Thumb), r)
	p.W, p.H = im.Rect.Dx(), im.Rect.Dy()
	var err error
	p.URI, err = dataURI(im)
	return p, err
}

// flagGroups lists each kind of doubt once, those to act on first and the
// commoner before the rarer, with the photos that carry it.
func flagGroups(albums []album) []flagGroup {
	var out []flagGroup
	at := map[colorimg.Flag]int{}
	for _, a := range albums {
		for _, p := range a.Photos {
			for _, f := range p.Reading.Flags {
				i, ok := at[f]
				if !ok {
					i = len(out)
					at[f] = i
					what, todo := f.Words()
					out = append(out, flagGroup{What: what, Todo: todo, Info: f.Info()})
				}
				out[i].Files = append(out[i].Files, flagFile{p.File, a.ID})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b flagGroup) int {
		switch {
		case a.Info == b.Info:
			return len(b.Files) - len(a.Files)
		case a.Info:
			return 1
		}
		return -1
	})
	return out
}

// usualCautions are the short cautions at a report's end.
var usualCautions = []string{
	"Some sap and pollen irritate skin and airways: wear gloves, and a mask if you react to pollen.",
	"Before handling sprayed flowers, follow what the spray’s label says.",
	"Seed or cuttings of a protected variety may not be sold or shared without its owner’s leave. Plant breeders’ rights differ by " +
		"country: check yours.",
	"Local rules on moving seed and plants come before any plan made here.",
}
