// Package terminal prints what commands tell: tables, swatches, sentences and
// progress for people, JSON and CSV for programs. Start with [New].
package terminal

import (
	"io"
	"os"
	"strings"

	"charm.land/lipgloss/v2"
	"github.com/charmbracelet/colorprofile"
	"golang.org/x/term"
)

// Stream is standard output or standard error, and what can be shown there.
type Stream struct {
	io.Writer
	Terminal bool
	Swatches bool  // colours can be shown
	Width    int   // of the terminal, in characters; 0: not a terminal
	Err      error // of the first write that failed
}

// Write remembers the first failure, so that a full disk under a redirected
// listing is not taken for success: see [Stream.Err].
// What a terminal would obey is shown instead; see [Plain].
func (s *Stream) Write(p []byte) (int, error) {
	for i, c := range p {
		if c < ' ' && c != '\n' && c != '\t' || c >= 0x7f {
			rest := escaped(p[i:], s.Terminal || s.Swatches)
			n, err := s.note(s.Writer.Write(append(p[:i:i], rest...)))
			return min(n, len(p)), err
		}
	}
	return s.note(s.Writer.Write(p))
}

// note remembers a failure.
func (s *Stream) note(n int, err error) (int, error) {
	if s.Err == nil {
		s.Err = err
	}
	return n, err
}

// New looks at what w is. Colour is left out of pipes and files, and where NO_COLOR asks for it; a terminal of fewer
// than 256 colours gets no swatches, since those would be wrong.
func New(w io.Writer, env []string) *Stream {
	s := &Stream{Writer: w}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		s.Terminal, s.Width = true, 80
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			s.Width = n
		}
	}
	profile := colorprofile.Detect(w, env)
	// The library takes only NO_COLOR=1 and the like, and only at a terminal;
	// by no-color.org any value that is not empty counts.
	if Getenv(env, "NO_COLOR") != "" {
		profile = min(profile, colorprofile.ASCII)
	}
	s.Swatches = profile >= colorprofile.ANSI256
	if s.Swatches || s.Terminal {
		s.Writer = &colorprofile.Writer{Forward: w, Profile: profile}
	}
	return s
}

// Swatch is a block of n characters in the colour "#rrggbb", or nothing where
// it cannot be shown: its numbers and words always stand beside it.
func (s *Stream) Swatch(hex string, n int) string {
	if !s.Swatches || hex == "" {
		return ""
	}
	return lipgloss.NewStyle().Background(lipgloss.Color(hex)).Render(strings.Repeat(" ", n))
}

// Strong is s made to stand out where a terminal can do so.
func (s *Stream) Strong(text string) string {
	if !s.Terminal {
		return text
	}
	return lipgloss.NewStyle().Bold(true).Render(Plain(text))
}

// Getenv returns the value of a variable in env; empty when not set. As in a shell, the last setting counts.
func Getenv(env []string, name string) (value string) {
	for _, kv := range env {
		if v, ok := strings.CutPrefix(kv, name+"="); ok {
			value = v
		}
	}
	return value
}
