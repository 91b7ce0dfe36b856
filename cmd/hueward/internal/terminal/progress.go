package terminal

import (
	"time"

	"github.com/schollz/progressbar/v3"
)

// Progress shows how far a long piece of work is, on a terminal.
type Progress struct{ bar *progressbar.ProgressBar } // nil: shows nothing

// NewProgress starts a bar of n steps on standard error when a person watches:
// both streams are terminals, and the listing is not for a program.
func NewProgress(stdout, stderr *Stream, n int, what string, out *Output) Progress {
	if n < 2 || !stderr.Terminal || !stdout.Terminal || !out.People() {
		return Progress{}
	}
	return Progress{progressbar.NewOptions(n,
		progressbar.OptionSetWriter(stderr.Writer),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(24),
		progressbar.OptionShowCount(),
		progressbar.OptionThrottle(65*time.Millisecond),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetRenderBlankState(true),
	)}
}

// Step is one step more.
func (p Progress) Step() {
	if p.bar != nil {
		p.bar.Add(1)
	}
}

// Clear takes the bar away, to print a line or for good; the next step brings it back.
func (p Progress) Clear() {
	if p.bar != nil {
		p.bar.Clear()
	}
}
