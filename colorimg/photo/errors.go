package photo

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind is why a file cannot be measured.
type Kind string

// The kinds of refusal.
const (
	Broken      Kind = "broken"      // damaged, cut short or empty
	Unsupported Kind = "unsupported" // perhaps sound, but not handled: another format, a picture made for print, no picture at all
	TooLarge    Kind = "too-large"   // beyond [Limits], by the file's size and header, before anything is decoded
)

// RefusedError is a file that cannot be measured. It prints as one line: what, where, what to do.
type RefusedError struct {
	Kind   Kind
	File   string
	Reason string // "is cut short"
	Hint   string // "copy it again from the camera"; may be empty
	Err    error  // what the decoder said; may be nil
}

func (e *RefusedError) Error() string {
	return strings.TrimSuffix(fmt.Sprintf("%s: %s; %s", e.File, e.Reason, e.Hint), "; ")
}

func (e *RefusedError) Unwrap() error { return e.Err }

// Hints for the most common problems.
const (
	hintCopyAgain = "copy it again from the phone or camera"
	hintJPEG      = "export it as a JPEG and measure that"
)

func broken(file, reason string, err error) error {
	return &RefusedError{Broken, file, reason, hintCopyAgain, err}
}

func unsupported(file, reason, hint string, err error) error {
	return &RefusedError{Unsupported, file, reason, hint, err}
}

func tooLarge(file, format string, args ...any) error {
	return &RefusedError{TooLarge, file, fmt.Sprintf(format, args...), "export a smaller copy as a JPEG", nil}
}

// plain makes text from inside a file safe to show: printable, on one line, and at most n characters long.
func plain(s string, n int) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case !unicode.IsPrint(r) || r == utf8.RuneError:
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
