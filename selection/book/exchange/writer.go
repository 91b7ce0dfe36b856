package exchange

import (
	"bufio"
	"io"
	"strings"
)

// Writer writes rows as CSV: UTF-8 without a byte order mark, commas, lines ended
// by LF. Every text comes back as it was from [Reader]: one that a spreadsheet
// would take for a formula, too, is written as it is.
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

// needsQuotes: a separator of any kind too, since the first line tells which.
func needsQuotes(s string) bool {
	return strings.Trim(s, " \t") != s || strings.ContainsAny(s, ",;\t\"\r\n")
}
