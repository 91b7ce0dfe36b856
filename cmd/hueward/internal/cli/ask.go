package cli

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"hueward/cmd/hueward/internal/terminal"
)

// answers is where a person answers questions: stdin where it and stderr are a terminal;
// nil: there is nobody to ask.
func answers(stdin io.Reader, stderr *terminal.Stream) io.Reader {
	if f, ok := stdin.(*os.File); ok && stderr.Terminal && term.IsTerminal(int(f.Fd())) {
		return stdin
	}
	return nil
}

// Confirm asks a question, and reports whether the answer was yes. Answers must not be nil.
func (a *App) Confirm(question string) (bool, error) {
	fmt.Fprintf(a.Stderr, "hueward: %s [y/N] ", OneLine(question))
	line, err := bufio.NewReader(io.LimitReader(a.Answers, 100)).ReadString('\n')
	if err != nil && err != io.EOF {
		return false, fmt.Errorf("read the answer: %w", err)
	}
	switch strings.ToLower(strings.TrimSpace(line)) {
	case "y", "yes":
		return true, nil
	}
	return false, nil
}
