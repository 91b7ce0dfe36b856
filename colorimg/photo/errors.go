package photo

import (
	"fmt"
	"strings"
)

// BrokenError is a file that is damaged, cut short or empty.
type BrokenError struct {
	File   string
	Reason string // "is cut short"
	Hint   string // "copy it again from the camera"
	Err    error  // what the decoder said; may be nil
}

// UnsupportedError is a file that may be sound, but is not handled: another
// format, a picture made for print, or no picture at all.
type UnsupportedError struct {
	File   string
	Reason string
	Hint   string
	Err    error // may be nil
}

// TooLargeError is a photo beyond [Limits]. It is found from the file's size
// and header, before anything is decoded.
type TooLargeError struct {
	File   string
	Reason string
	Hint   string
}

func (e *BrokenError) Error() string      { return line(e.File, e.Reason, e.Hint) }
func (e *UnsupportedError) Error() string { return line(e.File, e.Reason, e.Hint) }
func (e *TooLargeError) Error() string    { return line(e.File, e.Reason, e.Hint) }

func (e *BrokenError) Unwrap() error      { return e.Err }
func (e *UnsupportedError) Unwrap() error { return e.Err }

// line is what a grower reads: what, where, what to do.
func line(file, reason, hint string) string {
	if hint == "" {
		return fmt.Sprintf("%s: %s", file, reason)
	}
	return fmt.Sprintf("%s: %s; %s", file, reason, hint)
}

// What to do about the commonest troubles.
const (
	hintCopyAgain = "copy it again from the phone or camera"
	hintJPEG      = "export it as a JPEG and measure that"
)

// unhandled is what a reader says of a file that is sound but not handled.
type unhandled struct{ reason, hint string }

func (e *unhandled) Error() string { return e.reason }

func broken(file, reason string, err error) error {
	return &BrokenError{File: file, Reason: reason, Hint: hintCopyAgain, Err: err}
}

func unsupported(file, reason, hint string, err error) error {
	return &UnsupportedError{File: file, Reason: reason, Hint: hint, Err: err}
}

// plain makes words from inside a file fit to be shown: printable, on one
// line, and no longer than n characters.
func plain(s string, n int) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case !printable(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > n {
		s = strings.TrimRight(string(r[:n]), " ")
	}
	return s
}
