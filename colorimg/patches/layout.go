package patches

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// defaultGap is the space between patches where the file does not say: that of
// common charts. An error of the usual size moves no patch by a tenth of its width.
const defaultGap = 0.12

// layOut names the patches and puts each in its cell; see [Parse].
func (s *Set) layOut(t *table) error {
	if err := s.name(t); err != nil {
		return err
	}
	if e, ok := t.keywords["HUEWARD_GAP"]; ok {
		g, err := strconv.ParseFloat(strings.Replace(e.value, ",", ".", 1), 64)
		if err != nil || !(g >= 0 && g <= 2) {
			return at(e.line, "HUEWARD_GAP %s: want a share of the patch's width, 0 to 2", quote(e.value))
		}
		s.Gap = g
	}
	_, rowsSaid := t.keywords["HUEWARD_ROWS"]
	_, colsSaid := t.keywords["HUEWARD_COLUMNS"]
	var err error
	switch {
	case t.has("SAMPLE_ROW", "SAMPLE_COLUMN"):
		err = s.byFields(t)
	case rowsSaid || colsSaid:
		err = s.byKeywords(t)
	default:
		err = s.byIDs(t)
	}
	if err != nil {
		return err
	}
	taken := make(map[[2]int]int, len(s.Patches))
	for i, p := range s.Patches {
		cell := [2]int{p.Row, p.Col}
		if j, ok := taken[cell]; ok {
			return at(t.rows[i].line, "patch %s lies in row %d, column %d, where patch %s lies already (line %d)",
				quote(p.ID), p.Row+1, p.Col+1, quote(s.Patches[j].ID), t.rows[j].line)
		}
		taken[cell] = i
	}
	return nil
}

// name gives the patches their names, those that tell the place when there are.
func (s *Set) name(t *table) error {
	fields := []string{"SAMPLE_LOC", "SAMPLE_ID", "SAMPLEID", "SAMPLE_NAME", "INDEX"}
	best := -1
	for _, f := range fields {
		col, ok := t.fields[f]
		if !ok {
			continue
		}
		if best < 0 || best != col && !t.places(best) && t.places(col) {
			best = col
		}
	}
	seen := make(map[string]int, len(t.rows))
	for i, r := range t.rows {
		id := strconv.Itoa(i + 1)
		if best >= 0 {
			id = plain(r.values[best])
		}
		if id == "" || len(id) > 100 {
			return at(r.line, "the patch's name %s is empty or too long", quote(id))
		}
		if line, twice := seen[id]; twice {
			return at(r.line, "patch %s is given twice, first on line %d", quote(id), line)
		}
		seen[id] = r.line
		s.Patches[i].ID = id
	}
	return nil
}

// plain is s on one line, without control characters.
func plain(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, s))
}

// places reports whether every value of the column reads as a place.
func (t *table) places(col int) bool {
	for _, r := range t.rows {
		if _, _, ok := place(r.values[col]); !ok {
			return false
		}
	}
	return true
}

var placeName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^([0-9]?)([A-Za-z]{1,2})([0-9]{1,3})$`) })

// place reads a name such as A1 or B07 as letter and number, from 0 and as
// written: A is 0, Z 25, then comes AA, or 2A with those who count that way.
func place(id string) (letter, number int, ok bool) {
	m := placeName().FindStringSubmatch(strings.TrimSpace(id))
	if m == nil {
		return 0, 0, false
	}
	for _, c := range strings.ToUpper(m[2]) {
		letter = letter*26 + int(c-'A') + 1
	}
	if round, err := strconv.Atoi(m[1]); err == nil {
		if round < 2 || len(m[2]) > 1 {
			return 0, 0, false
		}
		letter += 26 * (round - 1)
	}
	number, _ = strconv.Atoi(m[3])
	return letter - 1, number, true
}

const noLayout = "it is not known where each patch lies; name them A1, A2, … B1 by row and column, " +
	"or add the keywords HUEWARD_ROWS and HUEWARD_COLUMNS"

func (s *Set) byIDs(t *table) error {
	r0, c0, r1, c1 := math.MaxInt, math.MaxInt, 0, 0
	for i := range s.Patches {
		p := &s.Patches[i]
		r, c, ok := place(p.ID)
		if !ok {
			return at(t.rows[i].line, "patch %s: %s", quote(p.ID), noLayout)
		}
		p.Row, p.Col = r, c
		r0, c0, r1, c1 = min(r0, r), min(c0, c), max(r1, r), max(c1, c)
	}
	for i := range s.Patches {
		s.Patches[i].Row -= r0
		s.Patches[i].Col -= c0
	}
	s.Rows, s.Cols, s.FromIDs = r1-r0+1, c1-c0+1, true
	// Names of two kinds, such as those of a grey scale along the rim, leave most of such a grid empty.
	if s.Rows > maxSide || s.Cols > maxSide || s.Rows*s.Cols > 4*len(s.Patches) {
		return at(0, "the patches' names make %d rows by %d columns of %d patches: %s", s.Rows, s.Cols, len(s.Patches), noLayout)
	}
	return nil
}

// size reads the keywords for the grid's size, leaving 0 what they do not say.
func (s *Set) size(t *table) error {
	for _, k := range []struct {
		key string
		to  *int
	}{{"HUEWARD_ROWS", &s.Rows}, {"HUEWARD_COLUMNS", &s.Cols}} {
		e, ok := t.keywords[k.key]
		if !ok {
			continue
		}
		n, err := strconv.Atoi(e.value)
		if err != nil || n < 1 || n > maxSide {
			return at(e.line, "%s %s: want a whole number, 1 to %d", k.key, quote(e.value), maxSide)
		}
		*k.to = n
	}
	return nil
}

func (s *Set) byKeywords(t *table) error {
	if err := s.size(t); err != nil {
		return err
	}
	n := len(s.Patches)
	if s.Rows == 0 {
		s.Rows = (n + s.Cols - 1) / s.Cols
	}
	if s.Cols == 0 {
		s.Cols = (n + s.Rows - 1) / s.Rows
	}
	if n > s.Rows*s.Cols || s.Rows > maxSide || s.Cols > maxSide {
		return at(t.end, "%d patches do not go into %d rows by %d columns", n, s.Rows, s.Cols)
	}
	for i := range s.Patches {
		s.Patches[i].Row, s.Patches[i].Col = i/s.Cols, i%s.Cols
	}
	return nil
}

func (s *Set) byFields(t *table) error {
	if err := s.size(t); err != nil { // the last row or column may be empty
		return err
	}
	for i, r := range t.rows {
		for _, k := range []struct {
			field    string
			to, size *int
		}{{"SAMPLE_ROW", &s.Patches[i].Row, &s.Rows}, {"SAMPLE_COLUMN", &s.Patches[i].Col, &s.Cols}} {
			v := r.values[t.fields[k.field]]
			n, err := strconv.Atoi(v)
			if err != nil || n < 1 || n > maxSide {
				return at(r.line, "%s %s: want a whole number, 1 to %d", k.field, quote(v), maxSide)
			}
			*k.to, *k.size = n-1, max(*k.size, n)
		}
	}
	return nil
}
