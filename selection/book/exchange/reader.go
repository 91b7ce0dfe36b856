package exchange

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Limits of a table, our own choice, so that a file of another kind is refused early.
const (
	MaxField   = 1 << 20  // bytes of one field
	MaxRecord  = 16 << 20 // bytes of one row
	maxColumns = 1000
)

// Field is one field of a row.
type Field struct {
	Text   string
	Quoted bool // it was in quotes, and may begin or end with spaces
	Line   int  // in which it begins
}

// Reader reads the rows of a CSV file: UTF-8 with or without a byte order mark, UTF-16 with one; fields separated by commas, semicolons
// or tabs, whichever the first line holds most of; lines ended by LF or CR LF. A field may be in quotes, and then holds
// separators, line ends and doubled quotes as they are; around fields without quotes, spaces are dropped. Rows without
// any text are skipped.
type Reader struct {
	file string
	r    *bufio.Reader
	sep  byte
	line int    // the last one read
	raw  []byte // its bytes, with its end
	text []byte // of the row's fields, one after the other
	ends []int
	row  []Field
	wide bool  // the file is UTF-16
	err  error // what ended the reading
}

// NewReader returns a reader of r; errors name file.
func NewReader(file string, r io.Reader) *Reader {
	b := bufio.NewReaderSize(r, 64<<10)
	out := &Reader{file: file}
	start, _ := b.Peek(64)
	switch {
	case bytes.HasPrefix(start, []byte("\ufeff")):
		b.Discard(3)
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")):
		utf16 := unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM).NewDecoder()
		out.wide, b = true, bufio.NewReaderSize(transform.NewReader(b, utf16), 64<<10)
	default:
		if what := otherKind(start); what != "" {
			out.err = &Error{File: file, Line: 1, Reason: "holds " + what + ", not a table as text; " +
				`save the sheet as "CSV UTF-8", and give that file`}
		}
	}
	out.r = b
	// A first line such as sep=; tells spreadsheets the separator.
	if told, _ := b.Peek(5); len(told) == 5 && strings.EqualFold(string(told[:4]), "sep=") && strings.IndexByte(",;\t", told[4]) >= 0 {
		b.ReadSlice('\n')
		out.line, out.sep = 1, told[4]
		return out
	}
	head, _ := b.Peek(64 << 10)
	out.sep = separator(head)
	return out
}

// otherKind says what a file holds by its first bytes; empty: it may be a table as text.
//
// Source: the formats' own marks: ZIP's local header (in which .xlsx and .ods come), the compound file of old .xls, PDF,
// gzip, RTF, JPEG, PNG.
func otherKind(start []byte) string {
	for _, k := range []struct{ mark, what string }{
		{"PK\x03\x04", "a spreadsheet's workbook or another archive"}, {"\xd0\xcf\x11\xe0", "an old workbook"},
		{"%PDF", "a PDF"}, {"\x1f\x8b", "a compressed file"}, {"{\\rtf", "a text document"}, {"\xff\xd8\xff", "a picture"},
		{"\x89PNG", "a picture"},
	} {
		if bytes.HasPrefix(start, []byte(k.mark)) {
			return k.what
		}
	}
	text := strings.ToLower(string(bytes.TrimSpace(start)))
	for _, mark := range []string{"<?xml", "<html", "<!doctype", "<table"} {
		if strings.HasPrefix(text, mark) {
			return "a web page or XML"
		}
	}
	return ""
}

// separator returns the separator that is most frequent, outside of quotes, in the first line with any text; a comma if
// there is none.
func separator(text []byte) byte {
	head, _, _ := bytes.Cut(bytes.TrimLeft(text, "\r\n"), []byte("\n"))
	var n [256]int
	quoted := false
	for _, c := range head {
		if c == '"' {
			quoted = !quoted
		} else if !quoted {
			n[c]++
		}
	}
	switch {
	case n['\t'] > max(n[','], n[';']):
		return '\t'
	case n[';'] > n[',']:
		return ';'
	}
	return ','
}

// Read returns the next row; it is valid until the next call. It returns io.EOF after the last, and an [*Error] for a
// file that is no CSV, after which no row comes any more.
func (r *Reader) Read() ([]Field, error) {
	for r.err == nil {
		row, err := r.record()
		if err != nil {
			r.err = err
			break
		}
		if slices.ContainsFunc(row, func(f Field) bool { return f.Text != "" }) {
			return row, nil
		}
	}
	return nil, r.err
}

func (r *Reader) fail(line int, format string, args ...any) error {
	return &Error{File: r.file, Line: line, Reason: fmt.Sprintf(format, args...)}
}

// next reads one line of the file into r.raw.
func (r *Reader) next() error {
	r.raw = r.raw[:0]
	for {
		part, err := r.r.ReadSlice('\n')
		r.raw = append(r.raw, part...)
		switch {
		case len(r.raw) > MaxRecord:
			return r.fail(r.line+1, "is longer than %d MiB; a quote may be missing, or it is not CSV", MaxRecord>>20)
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case err != nil && !errors.Is(err, io.EOF):
			return err
		case len(r.raw) == 0:
			return io.EOF
		}
		break
	}
	r.line++
	if i := bytes.IndexByte(r.raw, 0); i >= 0 {
		if r.line == 1 || bytes.Count(r.raw, []byte{0}) > 2 {
			return r.fail(r.line, `holds a zero byte; save the file as "CSV UTF-8"`)
		}
		return r.fail(r.line, "holds a zero byte after %s; take it out", Quote(tail(r.raw[:i])))
	}
	if r.wide && bytes.ContainsRune(r.raw, utf8.RuneError) { // what the decoder puts for half a character
		return r.fail(r.line, `is damaged UTF-16; save the file as "CSV UTF-8"`)
	}
	if !utf8.Valid(r.raw) {
		ok := 0
		for c, n := utf8.DecodeRune(r.raw); c != utf8.RuneError || n > 1; c, n = utf8.DecodeRune(r.raw[ok:]) {
			ok += n
		}
		return r.fail(r.line, `is not UTF-8 after %s; save the file as "CSV UTF-8"`, Quote(tail(r.raw[:ok])))
	}
	return nil
}

// tail returns the last few characters before a fault.
func tail(b []byte) string {
	i := max(0, len(b)-20)
	for i < len(b) && !utf8.RuneStart(b[i]) {
		i++
	}
	return string(b[i:])
}

// record reads one row, over several lines where a quoted field has line ends.
func (r *Reader) record() ([]Field, error) {
	if err := r.next(); err != nil {
		return nil, err
	}
	r.text, r.ends, r.row = r.text[:0], r.ends[:0], r.row[:0]
	size := len(r.raw)
	line := bare(r.raw)
	at := 0
	pastBlanks := func() {
		for at < len(line) && (line[at] == ' ' || line[at] == '\t' && r.sep != '\t') {
			at++
		}
	}
	for {
		pastBlanks()
		f := Field{Line: r.line}
		if at < len(line) && line[at] == '"' {
			f.Quoted = true
			at++
			for {
				// r.raw, not line: within quotes the line's end counts.
				i := bytes.IndexByte(r.raw[at:], '"')
				if i < 0 {
					r.text = append(r.text, r.raw[at:]...)
					err := r.next()
					if errors.Is(err, io.EOF) {
						return nil, r.fail(f.Line, `a quote " without its partner`)
					}
					if err != nil {
						return nil, err
					}
					if size += len(r.raw); size > MaxRecord {
						return nil, r.fail(f.Line, `a quote " without its partner within %d MiB`, MaxRecord>>20)
					}
					line, at = bare(r.raw), 0
					continue
				}
				r.text = append(r.text, r.raw[at:at+i]...)
				at += i + 1
				if at < len(line) && line[at] == '"' {
					r.text = append(r.text, '"')
					at++
					continue
				}
				break
			}
			if pastBlanks(); at < len(line) && line[at] != r.sep {
				return nil, r.fail(r.line, `text after a closing quote "; double a quote that belongs to the text`)
			}
		} else {
			i := bytes.IndexByte(line[at:], r.sep)
			if i < 0 {
				i = len(line) - at
			}
			part := bytes.TrimRight(line[at:at+i], " \t")
			if bytes.IndexByte(part, '"') >= 0 {
				return nil, r.fail(r.line, `a quote " inside a field that is not in quotes; put the field in quotes and double the inner one`)
			}
			if bytes.IndexByte(part, '\r') >= 0 {
				return nil, r.fail(r.line, `a carriage return inside a field; save the file as "CSV UTF-8"`)
			}
			r.text = append(r.text, part...)
			at += i
		}
		start := 0
		if n := len(r.ends); n > 0 {
			start = r.ends[n-1]
		}
		if len(r.text)-start > MaxField {
			return nil, r.fail(f.Line, "field %d is longer than %d MiB", len(r.row)+1, MaxField>>20)
		}
		if len(r.row) == maxColumns {
			return nil, r.fail(r.line, "more than %d fields; it is not a table of this kind", maxColumns)
		}
		r.ends, r.row = append(r.ends, len(r.text)), append(r.row, f)
		if at >= len(line) {
			break
		}
		at++ // the separator
	}
	all, start := string(r.text), 0
	for i, end := range r.ends {
		r.row[i].Text = all[start:end]
		start = end
	}
	return r.row, nil
}

// bare returns a line without its line end.
func bare(line []byte) []byte {
	line = bytes.TrimSuffix(line, []byte("\n"))
	return bytes.TrimSuffix(line, []byte("\r"))
}

// Writer writes rows as CSV: UTF-8 without a byte order mark, commas, lines ended by LF. Every text comes back as it
// was from [Reader]: one that a spreadsheet would take for a formula, too, is written as it is.
type Writer struct {
	w *bufio.Writer
}

// NewWriter returns a writer to w; Flush must be called at the end.
func NewWriter(w io.Writer) *Writer { return &Writer{bufio.NewWriterSize(w, 64<<10)} }

// Write writes one row. Errors come with Flush.
func (w *Writer) Write(row []string) {
	for i, s := range row {
		if i > 0 {
			w.w.WriteByte(',')
		}
		// A row of one empty field would be a blank line.
		if !needsQuotes(s) && (s != "" || len(row) > 1) {
			w.w.WriteString(s)
			continue
		}
		w.w.WriteString(`"` + strings.ReplaceAll(s, `"`, `""`) + `"`)
	}
	w.w.WriteByte('\n')
}

// Flush writes what is held back, and returns the first error of all writing.
func (w *Writer) Flush() error { return w.w.Flush() }

// needsQuotes reports whether a field must be quoted. Every kind of separator counts, as readers guess it from the file.
func needsQuotes(s string) bool {
	return strings.Trim(s, " \t") != s || strings.ContainsAny(s, ",;\t\"\r\n")
}
