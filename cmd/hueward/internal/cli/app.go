// Package cli holds what all commands share: where a run reads and writes, its
// clock, the book that is meant, refusals and errors of usage, and flags that many
// commands take. Start with [App]; a command's own work is in the folders beside.
package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"
)

// App is one run of the program: where it reads and writes, its clock, and the flags that all commands share.
type App struct {
	Stdin          io.Reader
	Stdout, Stderr *terminal.Stream
	Answers        io.Reader // where a person answers questions; nil: nobody can be asked
	Env            []string  // as [os.Environ] gives it
	Now            func() time.Time
	Version        string // the program's, as a report says it

	BookDir string // --book

	Refused int  // inputs named on stderr as refused
	Did     bool // something is done that stays, even if an error comes

	books  []*book.Book
	checks map[*cobra.Command][]func(args []string) error // see [Flags.Check]

	started bool // a command's own work has begun: errors are no longer of usage
}

// New is a run that reads and writes there. Data goes to stdout; errors, warnings and progress to stderr.
func New(stdin io.Reader, stdout, stderr io.Writer, env []string, version string) *App {
	a := &App{
		Stdin: stdin, Stdout: terminal.New(stdout, env), Stderr: terminal.New(stderr, env),
		Env: env, Now: time.Now, Version: version, checks: map[*cobra.Command][]func([]string) error{},
	}
	a.Answers = answers(stdin, a.Stderr)
	return a
}

// Execute runs the command of root that args name.
func (a *App) Execute(ctx context.Context, root *cobra.Command, args []string) error {
	root.SetArgs(args)
	root.SetIn(a.Stdin)
	root.SetOut(a.Stdout)
	root.SetErr(a.Stderr)
	cmd, err := root.ExecuteContextC(ctx)
	a.noteNothing(ctx, cmd, err)
	if err == nil && a.Stdout.Err != nil {
		return fmt.Errorf("write the output: %s; see that there is room for it", ReasonOf(a.Stdout.Err))
	}
	if err == nil && a.Refused > 0 {
		return ErrRefused
	}
	if err != nil && !a.started {
		// cobra's own complaints: unknown command or flag, wrong arguments.
		text, _, _ := strings.Cut(err.Error(), "\n")
		if short, ok := strings.CutPrefix(text, "unknown shorthand flag: "); ok {
			_, short, _ = strings.Cut(short, " in ")
			text = fmt.Sprintf("there is no flag %s; put -- before words that begin with a dash", short)
		}
		return Usagef("%s; see %s --help", strings.TrimSuffix(text, ";"), cmd.CommandPath())
	}
	return err
}

// Do marks that a command's own work has begun, then looks at its flags (see [Flags.Check]) and does it.
func (a *App) Do(f func(cmd *cobra.Command, args []string) error) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		a.started = true
		if err := a.setMemory(); err != nil {
			return err
		}
		for _, check := range a.checks[cmd] {
			if err := check(args); err != nil {
				return err
			}
		}
		return f(cmd, args)
	}
}

// Refuse names one refused input on standard error.
func (a *App) Refuse(format string, args ...any) {
	a.Refused++
	a.Warn(format, args...)
}

// Warn says one line on standard error.
func (a *App) Warn(format string, args ...any) {
	fmt.Fprintf(a.Stderr, "hueward: %s\n", OneLine(fmt.Sprintf(format, args...)))
}

// Tell says a line on standard output of what went well; where err is why it did not, it only hands that on.
func (a *App) Tell(err error, format string, args ...any) error {
	if err == nil {
		fmt.Fprintf(a.Stdout, format, args...)
	}
	return err
}

// Progress starts a bar of n steps where a person watches.
func (a *App) Progress(n int, what string, out *terminal.Output) terminal.Progress {
	return terminal.NewProgress(a.Stdout, a.Stderr, n, what, out)
}

// OpenBook opens the book that the command line, the environment or the working directory names.
func (a *App) OpenBook(ctx context.Context) (*book.Book, error) { return a.openBook(ctx, false) }

// LookAtBook is [App.OpenBook] of a command that changes nothing, not even an older book's version.
func (a *App) LookAtBook(ctx context.Context) (*book.Book, error) { return a.openBook(ctx, true) }

func (a *App) openBook(ctx context.Context, look bool) (*book.Book, error) {
	dir, err := a.BookPlace()
	if err != nil {
		return nil, err
	}
	b, err := book.Open(ctx, dir, &book.Options{Now: a.Now, Who: a.Who(), Look: look})
	if err != nil {
		return nil, a.noBook(err)
	}
	a.noteBook(b.Dir())
	a.books = append(a.books, b)
	return b.OneCommand(), nil
}

// Changed reports whether the run changed anything that stays.
func (a *App) Changed() bool {
	return a.Did || slices.ContainsFunc(a.books, (*book.Book).Wrote)
}

// BookPlace is the folder of the book that is meant.
func (a *App) BookPlace() (string, error) {
	if dir := a.bookNamed(); dir != "" {
		return dir, nil
	}
	dir, err := book.Find(".")
	return dir, a.noBook(err)
}

// bookNamed is the folder that the command line or the environment names.
func (a *App) bookNamed() string {
	if a.BookDir != "" {
		return a.BookDir
	}
	return terminal.Getenv(a.Env, "HUEWARD_BOOK")
}

// Who is the user's name on this machine, for the book's history.
func (a *App) Who() string {
	for _, name := range [3]string{"HUEWARD_WHO", "USER", "USERNAME"} {
		if v := strings.TrimSpace(terminal.Getenv(a.Env, name)); v != "" {
			return v
		}
	}
	return ""
}

// BookNamed reports whether the user said which book to use.
func (a *App) BookNamed() bool {
	return a.bookNamed() != ""
}

// InBook is [App.Do] for a command that needs the book and nothing before it.
func (a *App) InBook(f func(ctx context.Context, b *book.Book, args []string) error) func(*cobra.Command, []string) error {
	return a.Do(func(cmd *cobra.Command, args []string) error {
		return a.WithBook(cmd.Context(), func(b *book.Book) error { return f(cmd.Context(), b, args) })
	})
}

// WithBook opens the book that is meant for f.
func (a *App) WithBook(ctx context.Context, f func(b *book.Book) error) (err error) {
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	return f(b)
}

// answers is where a person answers questions: stdin where it and stderr are a terminal; nil: there is nobody to ask.
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
