package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/selection/book"
)

// version is that of the program, as "hueward version" and the report say it.
const version = "0.1.0"

// app is one run of the program: where it reads and writes, its clock, and the
// flags that all commands share.
type app struct {
	stdin          io.Reader
	stdout, stderr *stream
	env            []string
	now            func() time.Time

	bookDir string // --book

	started bool // a command's own work has begun: errors are no longer of usage
	refused int  // inputs named on stderr as refused
}

func newApp(stdin io.Reader, stdout, stderr io.Writer, env []string) *app {
	return &app{
		stdin: stdin, stdout: newStream(stdout, env), stderr: newStream(stderr, env),
		env: env, now: time.Now,
	}
}

// getenv returns the value of a variable in env; empty when not set. As in a
// shell, the last setting counts.
func getenv(env []string, name string) (value string) {
	for _, kv := range env {
		if v, ok := strings.CutPrefix(kv, name+"="); ok {
			value = v
		}
	}
	return value
}

func (a *app) execute(ctx context.Context, args []string) error {
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.stdin)
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil && a.stdout.err != nil {
		return fmt.Errorf("write the output: %s; see that there is room for it", reasonOf(a.stdout.err))
	}
	if err == nil && a.refused > 0 {
		return errRefused
	}
	if err != nil && !a.started {
		// cobra's own complaints: unknown command or flag, wrong arguments.
		text, _, _ := strings.Cut(err.Error(), "\n")
		return usagef("%s; see %s --help", strings.TrimSuffix(text, ";"), cmd.CommandPath())
	}
	return err
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "hueward",
		Short: "Measure petal colour from photos and rank plants by it",
		Long: `hueward measures petal colour from photos with a grey card in, tells how far
each plant is from the shade you want, and ranks the plants to keep as parents.

Without a book, "hueward measure PHOTO" just measures. A book is a folder that
keeps lines, plants, photos and readings; start one with "hueward new DIR". It is
found by walking up from the working directory, or by --book, or by the variable
HUEWARD_BOOK.` + exitStatuses("some inputs were refused"),
		Example: `  hueward demo garden
  hueward measure photo.jpg`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          a.do(func(cmd *cobra.Command, _ []string) error { return cmd.Help() }),
	}
	root.PersistentFlags().StringVar(&a.bookDir, "book", "", "the book's `DIR` (default: $HUEWARD_BOOK, else found from the working directory up)")
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(
		a.demoCommand(), a.newCommand(), a.targetCommand(), a.plantsCommand(), a.measureCommand(), a.cameraCommand(), a.photosCommand(), a.scoreCommand(),
		a.crossCommand(), a.headCommand(), a.packetCommand(), a.sowCommand(), a.todayCommand(), a.cropsCommand(),
		a.importCommand(), a.exportCommand(), a.backupCommand(), a.checkCommand(),
		a.undoCommand(), a.historyCommand(),
		a.rankCommand(), a.pairsCommand(), a.planCommand(), a.trendCommand(), a.ratiosCommand(), a.reportCommand(), a.tagsCommand(), a.serveCommand(), a.completionCommand(), a.versionCommand(),
	)
	root.SetHelpCommand(a.helpCommand())
	return root
}

// do marks that a command's own work has begun, then does it.
func (a *app) do(f func(cmd *cobra.Command, args []string) error) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		a.started = true
		return f(cmd, args)
	}
}

// refuse names one refused input on standard error.
func (a *app) refuse(format string, args ...any) {
	a.refused++
	a.warn(format, args...)
}

// warn says one line on standard error.
func (a *app) warn(format string, args ...any) {
	fmt.Fprintf(a.stderr, "hueward: %s\n", oneLine(fmt.Sprintf(format, args...)))
}

// openBook opens the book that the command line, the environment or the
// working directory names.
func (a *app) openBook(ctx context.Context) (*book.Book, error) {
	dir, err := a.bookPlace()
	if err != nil {
		return nil, err
	}
	return book.Open(ctx, dir, &book.Options{Now: a.now, Who: a.who()})
}

// bookPlace is the folder of the book that is meant.
func (a *app) bookPlace() (string, error) {
	dir := a.bookDir
	if dir == "" {
		dir = getenv(a.env, "HUEWARD_BOOK")
	}
	if dir == "" {
		return book.Find(".")
	}
	return dir, nil
}

// who is the user's name on this machine, for the book's history.
func (a *app) who() string {
	for _, name := range [3]string{"HUEWARD_WHO", "USER", "USERNAME"} {
		if v := strings.TrimSpace(getenv(a.env, name)); v != "" {
			return v
		}
	}
	return ""
}

// bookNamed reports whether the user said which book to use.
func (a *app) bookNamed() bool { return a.bookDir != "" || getenv(a.env, "HUEWARD_BOOK") != "" }
