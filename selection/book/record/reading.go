package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hueward/colorimg"
	"hueward/selection"
	"hueward/selection/book/pathdata"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
	"hueward/selection/space"
)

// PhotoSource is the source of a reading that was measured from a photo.
const PhotoSource = "photo"

// Reading is the newest reading of one photo, or a reading by an instrument.
type Reading struct {
	ID     int64
	Plant  string // id; empty: not known which plant it shows
	Line   string // of the plant
	Season string // of the photo, or in which the instrument was used
	Source string // PhotoSource, or the instrument's name
	Photo  *Photo // nil for an instrument
	// Measured is the reading in full. Its File is the photo's path in the
	// book, its Mask nil; by an instrument, only Status, Lab, LCh and SE are set.
	Measured   colorimg.Reading
	MeasuredAt time.Time
}

// Label returns the reading's name for a ranking's warnings.
func (r *Reading) Label() string {
	if r.Photo != nil {
		return r.Photo.Name
	}
	return r.Source
}

// Observation returns the reading in the form that selection.Rank takes; ok is false if its plant is not known. A
// standard error that is only known as a Delta E is divided among L*, a* and b* by [space.SpreadError].
func (r *Reading) Observation() (o selection.Observation, ok bool) {
	m := &r.Measured
	o = selection.Observation{
		Plant: r.Plant, Photo: r.Label(),
		Precision: m.SE.Precision, Trueness: m.SE.Trueness,
		Check: m.Status == colorimg.Check, NoCard: slices.Contains(m.Flags, colorimg.FlagNoCard),
		Refused: m.Status == colorimg.Refused || m.Lab == nil, Reason: m.Reason,
	}
	if m.Lab != nil {
		o.Lab = m.Lab.Lab()
	}
	if m.SELab != nil {
		o.SE = *m.SELab
	} else if m.Lab != nil && m.SE.Precision > 0 {
		for i, v := range space.SpreadError(o.Lab, m.SE.Precision) {
			o.SE[i] = min(v, selection.MaxError)
		}
	}
	return o, r.Plant != ""
}

// Observations returns the readings of known plants in the form that selection.Rank takes.
func Observations(rs []Reading) []selection.Observation {
	out := make([]selection.Observation, 0, len(rs))
	for i := range rs {
		if o, ok := rs[i].Observation(); ok {
			out = append(out, o)
		}
	}
	return out
}

// CheckReading returns an error if the book cannot store r.
func CheckReading(r *colorimg.Reading) error {
	switch r.Status {
	case colorimg.Refused:
		if r.Reason == "" {
			return errors.New("a refused reading without a reason")
		}
	case colorimg.OK, colorimg.Check:
		if r.Lab == nil {
			return errors.New("a reading without a colour that is not refused")
		}
	default:
		return fmt.Errorf("a reading of status %q; want ok, check or refused", r.Status)
	}
	errs := []float64{r.SE.Precision, r.SE.Trueness}
	if r.SELab != nil {
		errs = append(errs, r.SELab[:]...)
	}
	for _, v := range errs {
		if !(v >= 0 && v <= selection.MaxError) {
			return fmt.Errorf("a reading with a standard error of %v Delta E; want 0 to %v", v, selection.MaxError)
		}
	}
	if _, err := json.Marshal(Stored(r)); err != nil {
		return fmt.Errorf("a reading that is not made of ordinary numbers: %w", err)
	}
	return nil
}

// Stored returns r without what is stored in the photo's row, and without a refused
// reading's colour, for comparing two readings of one photo.
func Stored(r *colorimg.Reading) colorimg.Reading {
	s := *r
	s.File, s.SHA256, s.Plant, s.TakenAt, s.Camera, s.Size, s.Mask, s.Reasons = "", "", nil, nil, "", [2]int{}, nil, nil
	s.Petal.Sure = 0 // not stored; the flags and errors that follow from it are
	if s.Status == colorimg.Refused {
		s.Lab, s.LCh, s.Hex, s.Name, s.SELab, s.Spread = nil, nil, "", "", nil, nil
	}
	if s.Lab != nil {
		c := s.Lab.Lab().LCh()
		s.LCh = &colorimg.Triple{c.L, c.C, c.H}
	}
	if s.Flags == nil {
		s.Flags = []colorimg.Flag{}
	}
	if len(s.Colors) == 0 {
		s.Colors = nil
	}
	if len(s.Petal.Outline) == 0 {
		s.Petal.Outline = nil
	}
	if len(s.Radial) == 0 {
		s.Radial = []colorimg.Ring{}
	}
	if len(s.Zones) == 0 {
		s.Zones = []colorimg.Zone{}
	}
	return s
}

const readingColumns = `r.method, r.status, r.reason, r.l, r.a, r.b, r.hex, r.colour_name, r.precision_de, r.trueness_de,
	r.se_l, r.se_a, r.se_b, r.spread_l, r.spread_a, r.spread_b, r.colours, r.flags, r.profile,
	r.card_found, r.card_corners, r.gain_r, r.gain_g, r.gain_b, r.cct, r.ev,
	r.petal_pixels, r.petal_share, r.bloom_x, r.bloom_y, r.outline,
	r.camera_model, r.card_kind, r.diameter_px, r.diameter_mm, r.radial, r.zones, r.tag, r.correction`

// AddReading adds the row of a photo's reading, measured at that time, and returns its number.
func (t *Tx) AddReading(photo int64, r *colorimg.Reading, at string) int64 {
	s := Stored(r)
	var corners, outline, tag, correction any
	if s.Card.Corners != nil {
		corners = text(s.Card.Corners)
	}
	if s.Petal.Outline != nil {
		outline = pathdata.Text(s.Petal.Outline)
	}
	if s.Tag != (colorimg.TagRead{}) {
		tag = text(s.Tag)
	}
	if s.Correction != nil {
		correction = text(s.Correction)
	}
	var bloom [2]any
	if p := s.Petal.Bloom; p != nil {
		bloom = [2]any{p[0], p[1]}
	}
	l, e, d := columns(s.Lab), columns(s.SELab), columns(s.Spread)
	return t.Add("reading", "photo_id, source, measured_at, "+strings.ReplaceAll(readingColumns, "r.", ""),
		photo, PhotoSource, at,
		s.Method, string(s.Status), s.Reason, l[0], l[1], l[2], s.Hex, s.Name, s.SE.Precision, s.SE.Trueness,
		e[0], e[1], e[2], d[0], d[1], d[2], text(append([]colorimg.Share{}, s.Colors...)), text(s.Flags), s.Profile,
		s.Card.Found, corners, s.Card.Gains[0], s.Card.Gains[1], s.Card.Gains[2], s.Card.CCT, s.Card.EV,
		s.Petal.Pixels, s.Petal.Share, bloom[0], bloom[1], outline,
		s.Model, s.Card.Kind, s.Petal.DiameterPixels, s.Petal.DiameterMM, text(s.Radial), text(s.Zones), tag, correction)
}

// damaged returns the error for a stored text that is not as it was written; the format names its row.
func damaged(format string, args ...any) error {
	return remedy.Step(remedy.Check).Errorf("%w: %s is not as it was entered; look at the whole book", sqlite.ErrDamaged,
		fmt.Sprintf(format, args...))
}

// SameAsNewest reports whether the photo's newest reading is the same as r.
func (t *Tx) SameAsNewest(photo int64, r *colorimg.Reading) bool {
	if t.err != nil {
		return false
	}
	last, err := Readings(context.Background(), t, "WHERE r.photo_id = ? ORDER BY r.id DESC LIMIT 1", photo)
	t.Fail(err)
	return len(last) > 0 && text(Stored(&last[0].Measured)) == text(Stored(r))
}

// text returns v as JSON. CheckReading has made sure that v holds no infinite number or NaN.
func text(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "null"
	}
	return string(b)
}

func columns(t *colorimg.Triple) [3]any {
	if t == nil {
		return [3]any{}
	}
	return [3]any{t[0], t[1], t[2]}
}

// triple is three columns of which either all or none are NULL.
type triple [3]sql.NullFloat64

func (t *triple) value() *colorimg.Triple {
	if !t[0].Valid {
		return nil
	}
	return &colorimg.Triple{t[0].Float64, t[1].Float64, t[2].Float64}
}

// Readings returns readings with their photo, plant, line and season; the tables are r, f, p, n and s.
func Readings(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Reading, error) {
	return readings(ctx, q, readingColumns, where, args)
}

// Colors is [Readings] for known plants, without outlines, places in the photo and tags, which take most of the time.
func Colors(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Reading, error) {
	columns := strings.NewReplacer("r.outline", "NULL", "r.card_corners", "NULL", "r.radial", "''", "r.zones", "''",
		"r.tag", "NULL", "r.correction", "NULL").Replace(readingColumns)
	return InHalves(ctx, q, func(half string, middle int64) ([]Reading, error) {
		return readings(ctx, q, columns, where+half, append(slices.Clone(args), middle))
	})
}

func readings(ctx context.Context, q sqlite.Querier, columns, where string, args []any) ([]Reading, error) {
	return sqlite.Collect(ctx, q, `SELECT r.id, coalesce(p.name, ''), coalesce(n.name, ''), s.name, r.source, r.measured_at,
		coalesce(f.id, 0), coalesce(f.sha256, ''), coalesce(p.name, ''), s.name, coalesce(f.path, ''), coalesce(f.name, ''), coalesce(f.bytes, 0),
		f.taken_at, coalesce(f.camera, ''), coalesce(f.width, 0), coalesce(f.height, 0), f.added_at,
		(SELECT count(*) FROM reading WHERE photo_id = f.id), `+columns+`
		`+fromReadings+where, args, scanReading)
}

// fromReadings are the tables of [Readings].
const fromReadings = `FROM reading r LEFT JOIN photo f ON f.id = r.photo_id
		LEFT JOIN plant p ON p.id = coalesce(r.plant_id, f.plant_id) LEFT JOIN line n ON n.id = p.line_id
		JOIN season s ON s.id = coalesce(r.season_id, f.season_id) `

// AnyReading reports whether [Readings] finds any.
func AnyReading(ctx context.Context, q sqlite.Querier, where string, args ...any) (any bool, err error) {
	err = q.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 "+fromReadings+where+")", args...).Scan(&any)
	return any, sqlite.Wrap(err)
}

func scanReading(rows *sql.Rows, r *Reading) error {
	var f Photo
	var colors, flags, radial, zones string
	var corners, outline, tag, correction sql.NullString
	var l, e, d triple
	var x, y sql.NullFloat64
	m := &r.Measured
	to := append([]any{&r.ID, &r.Plant, &r.Line, &r.Season, &r.Source, AsTime(&r.MeasuredAt)}, f.fields()...)
	if err := rows.Scan(append(to,
		&m.Method, &m.Status, &m.Reason, &l[0], &l[1], &l[2], &m.Hex, &m.Name, &m.SE.Precision, &m.SE.Trueness,
		&e[0], &e[1], &e[2], &d[0], &d[1], &d[2], &colors, &flags, &m.Profile,
		&m.Card.Found, &corners, &m.Card.Gains[0], &m.Card.Gains[1], &m.Card.Gains[2], &m.Card.CCT, &m.Card.EV,
		&m.Petal.Pixels, &m.Petal.Share, &x, &y, &outline,
		&m.Model, &m.Card.Kind, &m.Petal.DiameterPixels, &m.Petal.DiameterMM, &radial, &zones, &tag, &correction)...); err != nil {
		return err
	}
	m.Lab, m.SELab, m.Spread = l.value(), e.value(), d.value()
	if x.Valid {
		m.Petal.Bloom = &colorimg.Point{x.Float64, y.Float64}
	}
	for _, j := range []struct {
		text string
		into any
	}{{colors, &m.Colors}, {flags, &m.Flags}, {corners.String, &m.Card.Corners}, {radial, &m.Radial}, {zones, &m.Zones}, {tag.String, &m.Tag},
		{correction.String, &m.Correction}} {
		if err := asJSON(j.into).Scan(j.text); err != nil {
			return damaged("reading number %d", r.ID)
		}
	}
	if outline.String != "" {
		var err error
		if m.Petal.Outline, err = pathdata.Parse(outline.String); err != nil {
			return damaged("reading number %d", r.ID)
		}
	}
	*m = Stored(m) // derived fields and empty lists as they came
	if r.Plant != "" {
		m.Plant = new(r.Plant)
	}
	if f.ID == 0 {
		m.File = r.Source
		return nil
	}
	r.Photo = &f
	m.File, m.SHA256, m.Camera, m.Size = f.Path, f.SHA256, f.Camera, f.Size
	if !f.TakenAt.IsZero() {
		m.TakenAt = &colorimg.TakenAt{Time: f.TakenAt}
	}
	return nil
}

// Photo is a photo kept in the book.
type Photo struct {
	ID       int64
	SHA256   string // of its bytes, in hex
	Plant    string // id; empty: not known which plant it shows
	Season   string
	Path     string    // in the book's folder, with forward slashes: "photos/2026/M-7/IMG_0412.jpg"
	Name     string    // the file name it came with
	Bytes    int64     // size of the file
	TakenAt  time.Time // zero: not written in the photo
	Camera   string
	Size     [2]int // width and height as displayed; 0, 0: could not be opened
	AddedAt  time.Time
	Readings int // how many readings it has
}

const photoColumns = `f.id, f.sha256, coalesce(p.name, ''), s.name, f.path, f.name, f.bytes, f.taken_at,
	f.camera, f.width, f.height, f.added_at, (SELECT count(*) FROM reading WHERE photo_id = f.id)`

const photoTables = ` FROM photo f JOIN season s ON s.id = f.season_id LEFT JOIN plant p ON p.id = f.plant_id `

// fields returns pointers to the fields for photoColumns.
func (p *Photo) fields() []any {
	return []any{&p.ID, &p.SHA256, &p.Plant, &p.Season, &p.Path, &p.Name, &p.Bytes, AsTime(&p.TakenAt),
		&p.Camera, &p.Size[0], &p.Size[1], AsTime(&p.AddedAt), &p.Readings}
}

// Photos returns the photos that the SQL in where selects, with aliases f for photo, p for its plant and s for its season.
func Photos(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Photo, error) {
	return sqlite.Collect(ctx, q, "SELECT "+photoColumns+photoTables+where, args, func(rows *sql.Rows, p *Photo) error {
		return rows.Scan(p.fields()...)
	})
}
