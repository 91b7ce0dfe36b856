package terminal

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain is s with what a terminal would obey shown instead, as \x1b: a note or a file's
// name may hold anything. Line ends and tabs stay, and the text itself stays readable.
func Plain(s string) string {
	if !strings.ContainsFunc(s, obeyed) {
		return s
	}
	return string(escaped([]byte(s), false))
}

// obeyed reports whether a terminal may obey the character, or what is no character.
func obeyed(r rune) bool {
	return r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0 || r == utf8.RuneError || r == '\u2028' || r == '\u2029' ||
		unicode.Is(unicode.Bidi_Control, r)
}

// escaped is text with what a terminal would obey shown; styles says that ours may be
// among it, which change how letters look and no more.
//
// Source: ECMA-48, 5th edition, 5.4 (control sequences) and 8.3.117 (SGR).
func escaped(p []byte, styles bool) []byte {
	out := make([]byte, 0, len(p)+16)
	for i := 0; i < len(p); {
		if styles && p[i] == 0x1b {
			if n := style(p[i:]); n > 0 {
				out = append(out, p[i:i+n]...)
				i += n
				continue
			}
		}
		r, n := utf8.DecodeRune(p[i:])
		switch {
		case !obeyed(r), r == utf8.RuneError && n > 1:
			out = append(out, p[i:i+n]...)
		case n == 1:
			out = fmt.Appendf(out, `\x%02x`, p[i])
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
		i += n
	}
	return out
}

// style is how long the sequence is that sets how letters look, with which p begins; 0: it begins with none.
func style(p []byte) int {
	if len(p) < 3 || p[1] != '[' {
		return 0
	}
	for i, c := range p[2:] {
		switch {
		case c == 'm':
			return i + 3
		case (c < '0' || c > '9') && c != ';' && c != ':':
			return 0
		}
	}
	return 0
}

// Data is the stream for what programs read, which comes to them as it is; where a person watches, as for them.
func (s *Stream) Data() io.Writer {
	if s.Terminal {
		return s
	}
	return data{s}
}

type data struct{ s *Stream }

// Write implements [io.Writer].
func (d data) Write(p []byte) (int, error) { return d.s.note(d.s.Writer.Write(p)) }

// dataOf is w, or its stream for data.
func dataOf(w io.Writer) io.Writer {
	if s, ok := w.(*Stream); ok {
		return s.Data()
	}
	return w
}
