package main

import (
	"time"

	"github.com/schollz/progressbar/v3"
)

// progress shows how far a long piece of work is, on a terminal.
type progress struct{ bar *progressbar.ProgressBar } // nil: shows nothing

// progress starts a bar of n steps when a person watches: standard error and
// standard output are terminals, and the listing is not for a program.
func (a *app) progress(n int, what string, out *output) progress {
	if n < 2 || !a.stderr.terminal || !a.stdout.terminal || !out.people() {
		return progress{}
	}
	return progress{progressbar.NewOptions(n,
		progressbar.OptionSetWriter(a.stderr),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(24),
		progressbar.OptionShowCount(),
		progressbar.OptionThrottle(65*time.Millisecond),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetRenderBlankState(true),
	)}
}

func (p progress) step() {
	if p.bar != nil {
		p.bar.Add(1)
	}
}

// clear takes the bar away, to print a line or for good; the next step brings
// it back.
func (p progress) clear() {
	if p.bar != nil {
		p.bar.Clear()
	}
}
