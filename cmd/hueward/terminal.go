package main

import (
	"io"
	"os"
	"strings"

	"charm.land/lipgloss/v2"
	"github.com/charmbracelet/colorprofile"
	"golang.org/x/term"
)

// stream is standard output or standard error, and what can be shown there.
type stream struct {
	io.Writer
	terminal bool
	swatches bool  // colours can be shown
	width    int   // of the terminal, in characters; 0: not a terminal
	err      error // of the first write that failed
}

// Write remembers the first failure, so that a full disk under a redirected
// listing is not taken for success: see [app.execute].
func (s *stream) Write(p []byte) (int, error) {
	n, err := s.Writer.Write(p)
	if s.err == nil {
		s.err = err
	}
	return n, err
}

// newStream looks at what w is. Colour is left out of pipes and files, and
// where NO_COLOR asks for it; a terminal of fewer than 256 colours gets no
// swatches, since those would be wrong.
func newStream(w io.Writer, env []string) *stream {
	s := &stream{Writer: w}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		s.terminal, s.width = true, 80
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			s.width = n
		}
	}
	profile := colorprofile.Detect(w, env)
	// The library takes only NO_COLOR=1 and the like, and only at a terminal;
	// by no-color.org any value that is not empty counts.
	if getenv(env, "NO_COLOR") != "" {
		profile = min(profile, colorprofile.ASCII)
	}
	s.swatches = profile >= colorprofile.ANSI256
	if s.swatches || s.terminal {
		s.Writer = &colorprofile.Writer{Forward: w, Profile: profile}
	}
	return s
}

// swatch is a block of n characters in the colour "#rrggbb", or nothing where
// it cannot be shown: its numbers and words always stand beside it.
func (s *stream) swatch(hex string, n int) string {
	if !s.swatches || hex == "" {
		return ""
	}
	return lipgloss.NewStyle().Background(lipgloss.Color(hex)).Render(strings.Repeat(" ", n))
}

// strong is s made to stand out where a terminal can do so.
func (s *stream) strong(text string) string {
	if !s.terminal {
		return text
	}
	return lipgloss.NewStyle().Bold(true).Render(text)
}
