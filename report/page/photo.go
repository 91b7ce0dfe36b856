package page

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"net/http"
	"strconv"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/photo"
	"hueward/report"
	"hueward/report/words"
	"hueward/selection/book"
)

// onePhoto is a photo with its reading, and what may be corrected.
type onePhoto struct {
	Card          photoCard
	Photo         *book.Photo
	Reading       *colorimg.Reading
	Outline, Quad string
	Corners       string // as a form field
	Correction    string // JSON
	Tolerance     float64
}

// photo shows one photo with card and petals drawn over it.
func (q *request) photo() error {
	d, err := q.onePhoto()
	if err != nil {
		return err
	}
	return q.render("photo", d.Card.File, d)
}

func (q *request) onePhoto() (*onePhoto, error) {
	p, err := q.photoNumber()
	if err != nil {
		return nil, err
	}
	r, err := q.b.NewestReading(q.ctx(), p.SHA256)
	if err != nil {
		return nil, err
	}
	targets := q.targets()
	m := &r.Measured
	d := &onePhoto{Card: newCard(p, r, targets), Photo: p, Reading: m}
	if t := targets[r.Line]; t != nil {
		d.Tolerance = t.Selection().Within
	}
	d.Outline = outlinePath(m)
	if c := m.Card.Corners; c != nil {
		d.Quad, d.Corners = points(c), points(c)
	}
	if m.Correction != nil {
		b, err := json.Marshal(m.Correction)
		if err != nil {
			return nil, err
		}
		d.Correction = string(b)
	}
	return d, q.err
}

func points(c *[4]colorimg.Point) string {
	return strings.Join(words.Each(c[:], func(p colorimg.Point) string { return fmt.Sprintf("%.1f,%.1f", p[0], p[1]) }), " ")
}

// correct measures a photo again with what was said by hand, and keeps that with the reading.
func (q *request) correct(p *book.Photo) error {
	c, m, err := q.touched(p)
	if err != nil {
		return err
	}
	if m.Status == colorimg.Refused && c != nil {
		reason, hint := refusal(m)
		return wrongf("%s %s Nothing was changed.", reason, hint)
	}
	if p.Plant != "" {
		m.Plant = &p.Plant
	}
	if _, err := q.b.Record(context.WithoutCancel(q.ctx()), book.Entry{File: q.b.PhotoFile(*p), Season: p.Season, Plant: p.Plant,
		Reading: m}); err != nil {
		return err
	}
	if c == nil {
		q.done("%s is measured without corrections.", p.Name)
	} else {
		q.done("%s is measured with your marks.", p.Name)
	}
	path := fmt.Sprintf("/photos/%d", p.ID)
	if q.wantsJSON() {
		d, err := q.onePhoto()
		if err != nil {
			return err
		}
		html, err := partOfPage("photo-result", d)
		if err != nil {
			return err
		}
		return q.tellDone(path, map[string]any{"html": html, "outline": d.Outline, "corners": d.Corners,
			"correction": d.Correction, "status": d.Card.Status})
	}
	return q.to(path)
}

// correction reads what the form says; nil: everything is to be found by itself again.
// What a form leaves out stays as it was.
func (q *request) correction(p *book.Photo) (*colorimg.Correction, error) {
	if q.r.PostFormValue("reset") != "" {
		return nil, nil
	}
	c := &colorimg.Correction{}
	r, err := q.b.NewestReading(q.ctx(), p.SHA256)
	if err != nil {
		return nil, err
	}
	if r.Measured.Correction != nil {
		*c = *r.Measured.Correction
	}
	if s := strings.TrimSpace(q.r.PostFormValue("card")); s != "" {
		pts, err := parsePoints(s)
		if err != nil || len(pts) != 4 {
			return nil, wrongf("The card has four corners: x,y x,y x,y x,y in pixels of the photo.")
		}
		c.Card = &[4]colorimg.Point{pts[0], pts[1], pts[2], pts[3]}
	}
	bloom := q.r.PostFormValue("bloom")
	if x, y := q.r.PostFormValue("bloom.x"), q.r.PostFormValue("bloom.y"); x != "" && y != "" {
		// A picture that is a button sends where it was touched, in its own pixels.
		shown, err := strconv.ParseFloat(q.r.PostFormValue("width"), 64)
		at, err1 := parsePoints(x + "," + y)
		if err != nil || err1 != nil || !(shown > 0) {
			return nil, wrongf("Tap the bloom in the picture once more.")
		}
		k := float64(p.Size[0]) / shown
		bloom = fmt.Sprintf("%.1f,%.1f", at[0][0]*k, at[0][1]*k)
	}
	if bloom = strings.TrimSpace(bloom); bloom != "" {
		pts, err := parsePoints(bloom)
		if err != nil || len(pts) != 1 {
			return nil, wrongf("The bloom is one point: x,y in pixels of the photo.")
		}
		c.Bloom = &pts[0]
	}
	if s := q.r.PostFormValue("strokes"); s != "" {
		c.Strokes = nil
		if err := json.Unmarshal([]byte(s), &c.Strokes); err != nil {
			return nil, wrongf("What was painted could not be read. Paint it again.")
		}
	}
	if c.Card == nil && c.Bloom == nil && len(c.Strokes) == 0 {
		return nil, nil
	}
	return c, nil
}

func parsePoints(s string) ([]colorimg.Point, error) {
	var out []colorimg.Point
	for _, f := range strings.Fields(s) {
		x, y, ok := strings.Cut(f, ",")
		px, err1 := strconv.ParseFloat(x, 64)
		py, err2 := strconv.ParseFloat(y, 64)
		if !ok || err1 != nil || err2 != nil {
			return nil, fmt.Errorf("%q is not a point", f)
		}
		out = append(out, colorimg.Point{px, py})
	}
	return out, nil
}

const mostPictures = 48 << 20 // bytes of small pictures that are kept

// largeSide is the longer side of the picture that is corrected on, in pixels.
const largeSide = 1280

// picture sends a photo made small, from its pixels alone: nothing that the file says
// of place, time or camera goes with it.
func (q *request) picture(p *book.Photo) (err error) {
	size := strings.TrimSuffix(q.r.PathValue("size"), ".jpg")
	if size != "small" && size != "large" {
		return notFound("There is no such picture.")
	}
	var r *book.Reading // the small picture shows it
	key := fmt.Sprintf("%d %s", p.ID, size)
	if size == "small" {
		if newest, err := q.b.NewestReading(q.ctx(), p.SHA256); err == nil {
			r, key = newest, fmt.Sprintf("%s %d", key, newest.ID)
		}
	}
	b := q.small.of(key, nil)
	if b == nil {
		select { // as many at a time as there are processors: each may be a large photo
		case q.drawing <- struct{}{}:
			defer func() { <-q.drawing }()
		case <-q.ctx().Done():
			return q.ctx().Err()
		}
		if b, err = q.makePicture(p, r, size); err != nil {
			return err
		}
		q.small.put(key, b)
	}
	q.w.Header().Set("Cache-Control", "private, max-age=86400")
	return q.send(http.StatusOK, "image/jpeg", b)
}

func (q *request) makePicture(p *book.Photo, r *book.Reading, size string) ([]byte, error) {
	work := largeSide
	if size == "small" {
		work = 2 * report.ThumbSide
	}
	o, err := photo.Open(q.ctx(), q.b.PhotoFile(*p), &photo.Options{Work: work, Limits: q.limits()})
	if err != nil {
		return nil, err
	}
	defer o.Done()
	var im image.Image = o.Image.Display()
	if size == "small" {
		im = report.Thumbnail(im)
		if r != nil {
			im = report.DrawOverlay(im, &r.Measured)
		}
	}
	var out bytes.Buffer
	if err := photo.EncodeJPEG(&out, im, 82); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}
