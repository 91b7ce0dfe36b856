package page

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/report/page/plane"
	"hueward/report/page/refill"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/written"
)

// planeShown is how wide the plane is shown where no script tells its width, in pixels: see .plane of the style.
const planeShown = 280

// dot is a plant on the plane.
type dot struct {
	ID, Hex, Name string
	X, Y          float64
	Lab           cie.Lab
	DeltaE        float64
	Far           bool // in lightness
}

// wish is a shade that is looked at, before it is set.
type wish struct {
	Lab       cie.Lab
	Hex, Name string
	Source    string
	Measured  bool
	Checked   bool // a shade was given
	X, Y      float64
	Shown     bool // it lies on the plane
}

type targetPage struct {
	Line   string // that the wish is for
	Now    *book.Target
	NowX   float64
	NowY   float64
	Hold   bool
	Within float64
	Wish   wish
	L      float64
	Dots   []dot
	Near   []dot
	Names  []string
	Across []plane.Tick
	Up     []plane.Tick
	Window plane.Window
	Zoomed bool
	ZeroX  float64
	ZeroY  float64
}

// target shows the line's target, and a wish beside what grows.
func (q *request) target() error {
	line, season := q.lineNow()
	d := &targetPage{L: 70, Within: selection.DefaultWithin, Names: cie.Names()}
	if line != nil {
		d.Line = line.Name
		if t := line.Target; t != nil {
			d.Now, d.L, d.Hold, d.Within = t, t.Lab.L, t.Aim == book.Hold, t.Selection().Within
		}
	}
	status := http.StatusOK
	var err error
	d.Wish, err = q.wished(d.L)
	if wrong, ok := errors.AsType[*wrongError](err); ok {
		q.device.said.Store(&said{Text: wrong.text, Wrong: true})
		q.device.typed.Store(&refill.Typed{Method: http.MethodGet, Path: "/target", Values: q.r.Form})
		status = wrong.status
	} else if err != nil {
		return err
	}
	d.L = q.number("L", 100, d.L)
	aim := d.Wish.Lab
	if d.Wish.Checked {
		d.L = aim.L
	} else if d.Now != nil {
		aim = d.Now.Lab
	}
	if line != nil {
		d.Dots = q.dots(line.Name, season, aim, d.L)
	}
	d.Near = slices.Clone(d.Dots)
	slices.SortStableFunc(d.Near, func(a, b dot) int { return cmp.Compare(a.DeltaE, b.DeltaE) })
	d.Near = d.Near[:min(len(d.Near), 5)]
	d.zoom(q.r.FormValue("whole") != "")
	return q.renderStatus(status, "target", "Target", d)
}

// zoom shows as much of the plane as there are plants, target and wish, or all of it.
func (d *targetPage) zoom(whole bool) {
	var shades []cie.Lab
	for _, p := range d.Dots {
		shades = append(shades, p.Lab)
	}
	if d.Now != nil {
		shades = append(shades, d.Now.Lab)
	}
	if d.Wish.Checked {
		shades = append(shades, d.Wish.Lab)
	}
	d.Window = plane.Whole
	if !whole {
		d.Window = plane.Around(shades)
	}
	d.Zoomed = d.Window != plane.Whole
	for i := range d.Dots {
		d.Dots[i].X, d.Dots[i].Y = d.Window.At(d.Dots[i].Lab)
	}
	if d.Now != nil {
		d.NowX, d.NowY = d.Window.At(d.Now.Lab)
	}
	d.Wish.X, d.Wish.Y = d.Window.At(d.Wish.Lab)
	d.Wish.Shown = d.Wish.Checked && d.Window.Shows(d.Wish.Lab)
	d.ZeroX, d.ZeroY = d.Window.At(cie.Lab{})
	d.Across, d.Up = d.Window.Ticks()
}

// number is what is asked for in a field, from 0 to most; none where it is no such number.
func (q *request) number(field string, most, none float64) float64 {
	v, err := strconv.ParseFloat(q.r.FormValue(field), 64)
	if err != nil || !(v >= 0 && v <= most) {
		return none
	}
	return v
}

// wished reads the shade that is asked for: by numbers, by hex, by name, or by a touch on the plane.
func (q *request) wished(light float64) (wish, error) {
	f := q.r.FormValue
	w := wish{}
	switch {
	case f("lab") != "":
		c, err := cie.ParseLab(f("lab"))
		if err != nil {
			return w, wrongf("%s", words.Sentence(err.Error()))
		}
		w.Lab, w.Source = c, "given as L* a* b*"
		if s := f("source"); strings.HasPrefix(s, "photo ") && len(s) < 200 {
			w.Source, w.Measured = s, f("measured") == "1"
		}
	case f("hex") != "":
		c, err := cie.ParseHex(strings.TrimSpace(f("hex")))
		if err != nil {
			return w, wrongf("%s", words.Sentence(err.Error()))
		}
		w.Lab, w.Source = c, "given as a screen colour"
	case f("name") != "":
		c, ok := cie.Named(f("name"))
		if !ok {
			return w, wrongf("No colour is called %q here. Choose one from the list, such as moderate orange.", f("name"))
		}
		w.Lab, w.Source = c, "by its name, "+cie.Name(c)
	case f("plane.x") != "" && f("plane.y") != "":
		side := q.number("side", 5000, planeShown)
		if side < 50 {
			side = planeShown
		}
		x, y := q.number("plane.x", side, -1), q.number("plane.y", side, -1)
		if x < 0 || y < 0 {
			return w, wrongf("Touch the plane once more.")
		}
		w.Lab = plane.Read(f("a"), f("b"), f("span")).Shade(q.number("L", 100, light), x*plane.Side/side, y*plane.Side/side)
		w.Source = "chosen on the plane of a* and b*"
	default:
		return w, nil
	}
	w.Checked, w.Hex, w.Name = true, w.Lab.Hex(), cie.Name(w.Lab)
	return w, nil
}

// dots are the line's present plants on the plane.
func (q *request) dots(line, season string, aim cie.Lab, light float64) []dot {
	readings := query(q, func(ctx context.Context) ([]book.Reading, error) { return q.b.Readings(ctx, line, season) })
	if season == "" { // the newest that has any
		readings = compose.Newest(readings, func(r book.Reading) string { return r.Season })
	}
	sum := map[string]*[4]float64{}
	var ids []string
	for _, r := range readings {
		if m := r.Measured; m.Lab != nil && r.Plant != "" {
			s := sum[r.Plant]
			if s == nil {
				s = new([4]float64)
				sum[r.Plant] = s
				ids = append(ids, r.Plant)
			}
			s[0], s[1], s[2], s[3] = s[0]+m.Lab[0], s[1]+m.Lab[1], s[2]+m.Lab[2], s[3]+1
		}
	}
	var out []dot
	for _, id := range ids {
		s := sum[id]
		c := cie.Lab{L: s[0] / s[3], A: s[1] / s[3], B: s[2] / s[3]}
		p := dot{ID: id, Lab: c, Hex: c.Hex(), Name: cie.Name(c), DeltaE: cie.DeltaE2000(c, aim), Far: math.Abs(c.L-light) > 10}
		out = append(out, p)
	}
	return out
}

// setTarget measures a photo for a wish, or sets the wish as the line's target.
func (q *request) setTarget() error {
	if !strings.HasPrefix(q.r.Header.Get("Content-Type"), "multipart/") {
		return q.form((*request).once, (*request).keepTarget)(q)
	}
	found := ""
	_, err := q.parts(1, func(file string, _ map[string]string) (more bool, err error) {
		found, err = q.measureWish(file)
		return false, err
	})
	switch {
	case err != nil:
		return err
	case found == "":
		return wrongf("Choose a photo of the flower, with the grey card in.")
	}
	return q.to(found)
}

// measureWish measures a photo for a wish, and returns the page that shows it.
func (q *request) measureWish(file string) (path string, err error) {
	m, err := q.measure(file)
	if err != nil {
		return "", err
	}
	if m.Status == colorimg.Refused || m.Lab == nil {
		reason, hint := refusal(m)
		return "", wrongf("%s %s", reason, hint)
	}
	if m.Status == colorimg.Check {
		q.mention("Look at the photo again: %s", words.Sentence(hints.Reason(m)))
	}
	v := url.Values{"lab": {fmt.Sprintf("%.2f,%.2f,%.2f", m.Lab[0], m.Lab[1], m.Lab[2])}, "source": {"photo " + filepath.Base(file)}}
	if m.Card.Found {
		v.Set("measured", "1")
	}
	return "/target?" + v.Encode(), nil
}

// keepSecond sets the wish as the shade of the petals' second colour, or takes that away.
func (q *request) keepSecond(none bool) error {
	line, err := q.b.Line(q.ctx(), strings.TrimSpace(q.r.PostFormValue("line")))
	if err != nil {
		return err
	}
	if line.Target == nil {
		return wrongf("Set the target of %s first, then its second colour.", line.Name)
	}
	t := *line.Target
	t.Second = nil
	said := "Only one colour of the petals counts for " + line.Name + "."
	if !none {
		c, err := cie.ParseLab(q.r.PostFormValue("lab"))
		if err != nil {
			return wrongf("%s", words.Sentence(err.Error()))
		}
		t.Second, said = &c, fmt.Sprintf("The second colour of %s is set: %s.", line.Name, cie.Name(c))
	}
	if err := q.b.SetTarget(q.ctx(), line.Name, t); err != nil {
		return err
	}
	q.done("%s", said)
	return q.to("/target")
}

// keepTarget sets the wish.
func (q *request) keepTarget() error {
	if s := q.r.PostFormValue("second"); s != "" {
		return q.keepSecond(s == "none")
	}
	c, err := cie.ParseLab(q.r.PostFormValue("lab"))
	if err != nil {
		return wrongf("%s", words.Sentence(err.Error()))
	}
	within, err := written.Number(q.r.PostFormValue("within"))
	if err != nil || !(within >= book.LeastWithin && within <= book.MostWithin) {
		return wrongf("Near enough is a Delta E from %g to %d, such as 4.", book.LeastWithin, book.MostWithin)
	}
	t := book.Target{Aim: book.Move, Lab: c, Within: within, Source: q.r.PostFormValue("source"),
		Measured: q.r.PostFormValue("measured") == "1"}
	if q.r.PostFormValue("aim") == string(book.Hold) {
		t.Aim = book.Hold
	}
	if len(t.Source) > 200 {
		t.Source = ""
	}
	line := strings.TrimSpace(q.r.PostFormValue("line"))
	if line == "" {
		return wrongf("Name the line, such as buff apricot.")
	}
	if old, err := q.b.Line(q.ctx(), line); err == nil && old.Target != nil {
		t.Second = old.Target.Second
	}
	if err := q.b.SetTarget(q.ctx(), line, t); err != nil {
		return err
	}
	q.device.looks.Store(&lookedAt{line: line})
	q.done("The target of %s is set: %s.", line, cie.Name(c))
	return q.to("/target")
}

// plane draws the colours of one lightness that a screen can show.
func (q *request) plane() error {
	light := math.Round(q.number("L", 100, -1))
	if light < 0 {
		return wrongf("The lightness is a number from 0 to 100.")
	}
	w := plane.Read(q.r.FormValue("a"), q.r.FormValue("b"), q.r.FormValue("span"))
	key := fmt.Sprintf("plane %v %v", light, w)
	b := q.small.of(key, nil)
	if b == nil {
		var out bytes.Buffer
		if err := w.Draw(&out, light); err != nil {
			return err
		}
		b = out.Bytes()
		q.small.put(key, b)
	}
	q.w.Header().Set("Cache-Control", "private, max-age=86400")
	return q.send(http.StatusOK, "image/png", b)
}
