package patches

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

// table is the first table of a CGATS.17 file that gives colours, with the keywords that stand before it.
type table struct {
	keywords map[string]entry
	fields   map[string]int // by name in capital letters
	rows     []row
	end      int // line of END_DATA
}

// entry is the value of a keyword and the line it stands on.
type entry struct {
	value string
	line  int
}

// row is one data set.
type row struct {
	line   int
	values []string
}

// readTable reads CGATS.17 text: keywords with values, BEGIN_DATA_FORMAT … END_DATA_FORMAT with the names of the
// fields, BEGIN_DATA … END_DATA with one data set a line. Strings may be quoted, a quote in them doubled; # starts a
// comment. The first line, which names the kind of file, may be anything.
//
// Source: ANSI CGATS.17 and ISO 28178 (from memory); TestParsePublic reads files that other programs wrote.
func readTable(r io.Reader) (*table, error) {
	lines, err := readLines(r)
	if err != nil {
		return nil, err
	}
	s := &scanner{t: &table{keywords: map[string]entry{}}}
	for i, l := range lines {
		done, err := s.line(i+1, l)
		if err != nil {
			return nil, err
		}
		if done {
			return s.t, nil
		}
	}
	switch {
	case s.state == inFormat:
		return nil, at(len(lines), "the file ends before END_DATA_FORMAT: is it cut off?")
	case s.state == inData:
		return nil, at(len(lines), "the file ends before END_DATA: is it cut off?")
	case s.tables > 0:
		return nil, at(0, "no table gives LAB_L, LAB_A, LAB_B or XYZ_X, XYZ_Y, XYZ_Z: the patches' colours are not known")
	}
	return nil, at(0, "no BEGIN_DATA: this is not a CGATS text file")
}

// readLines reads all of a text file. Line ends are those of any system; what is not UTF-8 is taken for Latin-1.
func readLines(r io.Reader) ([]string, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, err
	}
	if len(b) > maxFile {
		return nil, at(0, "larger than %d MiB: not a list of patches", maxFile>>20)
	}
	if bytes.HasPrefix(b, []byte("\xff\xfe")) || bytes.HasPrefix(b, []byte("\xfe\xff")) {
		return nil, at(0, "written as UTF-16; save it as plain text (UTF-8)")
	}
	if bytes.IndexByte(b, 0) >= 0 {
		return nil, at(0, "not a text file")
	}
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	text := string(b)
	if !utf8.ValidString(text) {
		latin := make([]rune, len(b))
		for i, c := range b {
			latin[i] = rune(c)
		}
		text = string(latin)
	}
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if len(l) > maxLine {
			return nil, at(i+1, "longer than %d letters: not a list of patches", maxLine)
		}
	}
	return lines, nil
}

// The parts of a file.
const (
	inHead = iota
	inFormat
	inData
)

type scanner struct {
	t      *table
	state  int
	names  []string
	line0  int   // of BEGIN_DATA_FORMAT
	sets   entry // NUMBER_OF_SETS
	tables int
}

// line takes the next line; done is true at the end of a table with colours.
func (s *scanner) line(n int, l string) (done bool, err error) {
	f, err := split(l)
	if err != nil {
		return false, at(n, "%v", err)
	}
	if len(f) == 0 {
		return false, nil
	}
	key := strings.ToUpper(f[0])
	switch s.state {
	case inHead:
		return false, s.head(n, key, f)
	case inFormat:
		if key == "END_DATA_FORMAT" {
			s.state = inHead
			return false, s.format()
		}
		if strings.HasPrefix(key, "BEGIN_DATA") {
			return false, at(n, "%s before END_DATA_FORMAT", key)
		}
		s.names = append(s.names, f...)
		if len(s.names) > 1000 {
			return false, at(n, "more than 1000 fields")
		}
		return false, nil
	}
	if key == "END_DATA" && len(f) == 1 {
		s.state = inHead
		s.t.end = n
		return s.endTable()
	}
	if len(f) != len(s.names) {
		return false, at(n, "%d values, want %d, one for each field of BEGIN_DATA_FORMAT", len(f), len(s.names))
	}
	if len(s.t.rows) == maxPatches {
		return false, at(n, "more than %d patches", maxPatches)
	}
	s.t.rows = append(s.t.rows, row{n, f})
	return false, nil
}

func (s *scanner) head(n int, key string, f []string) error {
	value := strings.Join(f[1:], " ")
	switch key {
	case "BEGIN_DATA_FORMAT":
		s.state, s.names, s.line0 = inFormat, f[1:], n
	case "BEGIN_DATA":
		if len(s.names) == 0 {
			return at(n, "BEGIN_DATA before BEGIN_DATA_FORMAT: the fields have no names")
		}
		s.state = inData
	case "END_DATA", "END_DATA_FORMAT":
		return at(n, "%s without its beginning", key)
	case "NUMBER_OF_FIELDS": // wrong in public files; the names say it as well
	case "NUMBER_OF_SETS":
		s.sets = entry{value, n}
	case "KEYWORD": // declares a keyword or a field that is not of the standard
	default:
		if len(f) > 1 {
			s.t.keywords[key] = entry{value, n}
			if key == "WEIGHTING_FUNCTION" { // stands there twice, for illuminant and observer
				s.t.keywords[key+" "+strings.ToUpper(strings.SplitN(value, ",", 2)[0])] = entry{value, n}
			}
		}
	}
	return nil
}

// format checks the names of the fields.
func (s *scanner) format() error {
	s.t.fields = map[string]int{}
	for i, name := range s.names {
		name = strings.ToUpper(name)
		if _, twice := s.t.fields[name]; twice {
			return at(s.line0, "field %s is named twice", quote(name))
		}
		s.t.fields[name] = i
	}
	return nil
}

func (s *scanner) endTable() (done bool, err error) {
	if err := s.counted(); err != nil {
		return false, err
	}
	s.tables++
	if len(s.t.rows) > 0 && (s.t.has("LAB_L", "LAB_A", "LAB_B") || s.t.has("XYZ_X", "XYZ_Y", "XYZ_Z")) {
		return true, nil
	}
	s.t.rows, s.sets, s.names = nil, entry{}, nil
	return false, nil
}

// counted compares the number of data sets with what the file says, so that a lost line is noticed.
func (s *scanner) counted() error {
	if s.sets.line == 0 {
		return nil
	}
	want, err := strconv.Atoi(s.sets.value)
	if err != nil {
		return at(s.sets.line, "NUMBER_OF_SETS %s is not a whole number", quote(s.sets.value))
	}
	if want != len(s.t.rows) {
		return at(s.sets.line, "NUMBER_OF_SETS is %d, but %d lines stand between BEGIN_DATA and END_DATA", want, len(s.t.rows))
	}
	return nil
}

func (t *table) has(fields ...string) bool {
	for _, f := range fields {
		if _, ok := t.fields[f]; !ok {
			return false
		}
	}
	return true
}

// split cuts a line into its words: between spaces and tabs, or in quotes. A
// word that starts with # and all after it is a comment.
func split(l string) (words []string, err error) {
	for {
		l = strings.TrimLeft(l, " \t\v\f\u00a0")
		if l == "" || l[0] == '#' {
			return words, nil
		}
		if l[0] != '"' {
			n := strings.IndexAny(l, " \t\v\f\u00a0")
			if n < 0 {
				n = len(l)
			}
			words, l = append(words, l[:n]), l[n:]
			continue
		}
		var b strings.Builder
		for l = l[1:]; ; {
			n := strings.IndexByte(l, '"')
			if n < 0 {
				return nil, errors.New(`a quote " is not closed`)
			}
			b.WriteString(l[:n])
			if l = l[n+1:]; !strings.HasPrefix(l, `"`) {
				break
			}
			b.WriteByte('"')
			l = l[1:]
		}
		words = append(words, b.String())
	}
}
