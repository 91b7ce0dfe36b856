package transfer

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"hueward/selection/book/naming"
)

// Assignment is one row of a table that says which plant each photo shows.
type Assignment struct {
	File  string      // as written in the table
	Plant string      // id, clean
	Bloom *[2]float64 // a point on the bloom, pixels as displayed; nil: not given
	Card  *[4]float64 // x, y, width, height of the grey card; nil: not given
	Line  int         // of the table, counted from 1
}

// Assignments is such a table.
type Assignments []Assignment

// Find returns the row of the photo: the one whose file is path, or else the
// one whose file is a last part of it ("a.jpg" or "M-7/a.jpg" for
// "garden/M-7/a.jpg"), the longest such.
func (as Assignments) Find(path string) (Assignment, bool) {
	parts := strings.Split(filepath.ToSlash(filepath.Clean(path)), "/")
	best, at := 0, -1
	for i, a := range as {
		p := strings.Split(slashed(a.File), "/")
		if len(p) <= len(parts) && len(p) > best && slices.Equal(p, parts[len(parts)-len(p):]) {
			best, at = len(p), i
		}
	}
	if at < 0 {
		return Assignment{}, false
	}
	return as[at], true
}

// slashed is a file of the table, which may come from another system.
func slashed(file string) string {
	return filepath.ToSlash(filepath.Clean(strings.ReplaceAll(file, `\`, "/")))
}

// TableError is a mistake in a table, with its place.
type TableError struct {
	Line   int    // counted from 1
	Column string // empty: the line as a whole
	Reason string
}

func (e *TableError) Error() string {
	if e.Column == "" {
		return fmt.Sprintf("line %d: %s", e.Line, e.Reason)
	}
	return fmt.Sprintf("line %d, column %q: %s", e.Line, e.Column, e.Reason)
}

// maxTable bounds the size of a table, in bytes.
const maxTable = 64 << 20

// The columns that come in groups: all of one, or none, may be given in a row.
var (
	bloomColumns = []string{"bloom_x", "bloom_y"}
	cardColumns  = []string{"card_x", "card_y", "card_w", "card_h"}
)

// ReadAssignments reads a table that says which plant each photo shows: CSV
// with a header line, the columns file and plant, and optionally bloom_x and
// bloom_y, card_x, card_y, card_w and card_h. Other columns are left alone.
// Fields may be separated by commas, semicolons or tabs; a byte order mark is
// skipped; with semicolons or tabs, or in quotes, a decimal comma is
// understood. Rows without any text are skipped. A mistake is a *TableError.
func ReadAssignments(r io.Reader) (Assignments, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxTable+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxTable {
		return nil, fmt.Errorf("the table is larger than %d MiB", maxTable>>20)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(text))
	c.Comma = separator(text)
	c.FieldsPerRecord = -1 // counted below, to name the line
	c.TrimLeadingSpace = true

	header, err := c.Read()
	if errors.Is(err, io.EOF) {
		return nil, &TableError{1, "", "the table is empty; its first line must name the columns: file,plant"}
	}
	if err != nil {
		return nil, tableError(err)
	}
	at, err := columnsOf(c, header)
	if err != nil {
		return nil, err
	}
	out := Assignments{}
	seen := map[string]Assignment{}
	for {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, tableError(err)
		}
		line, _ := c.FieldPos(0)
		if strings.TrimSpace(strings.Join(row, "")) == "" {
			continue
		}
		if len(row) > len(header) {
			return nil, &TableError{line, "", fmt.Sprintf("%d fields, but the header names %d columns; put a field with the separator in it in quotes", len(row), len(header))}
		}
		a, err := assignment(row, at, line)
		if err != nil {
			return nil, err
		}
		if old, twice := seen[slashed(a.File)]; twice {
			if naming.Key(old.Plant) != naming.Key(a.Plant) {
				return nil, &TableError{line, "plant", fmt.Sprintf("photo %q shows plant %q, but plant %q in line %d", a.File, a.Plant, old.Plant, old.Line)}
			}
			return nil, &TableError{line, "file", fmt.Sprintf("photo %q is in line %d already", a.File, old.Line)}
		}
		seen[slashed(a.File)] = a
		out = append(out, a)
	}
}

// separator is the one that the header line holds most of; a comma when none.
func separator(text []byte) rune {
	head, _, _ := bytes.Cut(bytes.TrimLeft(text, "\r\n"), []byte("\n"))
	best, most := ',', bytes.Count(head, []byte(","))
	for _, s := range ";\t" {
		if n := bytes.Count(head, []byte(string(s))); n > most {
			best, most = s, n
		}
	}
	return best
}

// columnsOf returns where each column that is understood lies.
func columnsOf(c *csv.Reader, header []string) (map[string]int, error) {
	line, _ := c.FieldPos(0)
	at := map[string]int{}
	for i, h := range header {
		h = strings.ToLower(strings.TrimSpace(h))
		if h == "" {
			continue
		}
		if _, twice := at[h]; twice {
			return nil, &TableError{line, h, "named twice"}
		}
		at[h] = i
	}
	for _, h := range [2]string{"file", "plant"} {
		if _, ok := at[h]; !ok {
			return nil, &TableError{line, h, "is missing; the first line must name the columns: file,plant"}
		}
	}
	for _, group := range [2][]string{bloomColumns, cardColumns} {
		n, missing := 0, ""
		for _, h := range group {
			if _, ok := at[h]; ok {
				n++
			} else {
				missing = h
			}
		}
		if n > 0 && missing != "" {
			return nil, &TableError{line, missing, "is missing; give all of " + strings.Join(group, ", ") + " or none"}
		}
	}
	return at, nil
}

func assignment(row []string, at map[string]int, line int) (Assignment, error) {
	field := func(h string) string {
		if i, ok := at[h]; ok && i < len(row) {
			return strings.TrimSpace(row[i])
		}
		return ""
	}
	a := Assignment{File: field("file"), Line: line}
	if a.File == "" {
		return a, &TableError{line, "file", "is empty"}
	}
	id, err := naming.CleanID(field("plant"))
	if err != nil {
		return a, &TableError{line, "plant", err.Error()}
	}
	a.Plant = id
	bloom, err := numbers(bloomColumns, field, line)
	if err != nil {
		return a, err
	}
	card, err := numbers(cardColumns, field, line)
	if err != nil {
		return a, err
	}
	if bloom != nil {
		a.Bloom = &[2]float64{bloom[0], bloom[1]}
	}
	if card != nil {
		for i, h := range cardColumns[2:] {
			if card[2+i] <= 0 {
				return a, &TableError{line, h, fmt.Sprintf("%q is not above 0", field(h))}
			}
		}
		a.Card = &[4]float64{card[0], card[1], card[2], card[3]}
	}
	return a, nil
}

// numbers reads a group of columns; nil when all are empty.
func numbers(group []string, field func(string) string, line int) ([]float64, error) {
	var out []float64
	empty := ""
	for _, h := range group {
		s := field(h)
		if s == "" {
			empty = h
			continue
		}
		v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, &TableError{line, h, fmt.Sprintf("%q is not a number", s)}
		}
		out = append(out, v)
	}
	if len(out) > 0 && empty != "" {
		return nil, &TableError{line, empty, "is empty; give all of " + strings.Join(group, ", ") + " or none"}
	}
	return out, nil
}

// tableError puts the place of a CSV mistake in our words.
func tableError(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	reason := p.Err.Error()
	switch {
	case errors.Is(p.Err, csv.ErrQuote):
		reason = `a quote " without its partner`
	case errors.Is(p.Err, csv.ErrBareQuote):
		reason = `a quote " inside a field that is not in quotes; put the field in quotes and double the inner one`
	}
	return &TableError{p.Line, "", reason}
}
