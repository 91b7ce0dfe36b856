// Command hueward reads petal colour from photos with a grey card in, ranks plants by how near they are to the shade
// you want, and keeps the season's records. See README.md, or hueward --help.
//
// The commands lie in the folders of internal, by subject, a file each: they parse,
// call and print. What they find out is worked out in colorimg, selection and report.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"syscall"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/selection/garden"
	"hueward/selection/kept"
)

// The exit statuses.
const (
	statusDone    = 0
	statusFailed  = 1 // nothing changed
	statusUsage   = 2
	statusRefused = 3 // done, but some inputs were refused, each named
)

func main() {
	collectLater()
	if dir, err := os.UserCacheDir(); err == nil && filepath.IsAbs(dir) { // else it would be in whatever folder one works in
		kept.In(filepath.Join(dir, "hueward"))
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Environ())
	stop()
	os.Exit(status)
}

// collectLater lets the first garbage collection wait for 32 MiB in place of 4, which most commands never reach, and be as
// usual from then on.
func collectLater() {
	if os.Getenv("GOGC") != "" {
		return
	}
	usual := debug.SetGCPercent(800)
	runtime.AddCleanup(new([4]*int), func(usual int) { debug.SetGCPercent(usual) }, usual)
}

// run is the whole program but for the process around it: tests call it too. Data goes to stdout; errors, warnings and
// progress to stderr. env is as [os.Environ] gives it.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer, env []string) int {
	a := cli.New(stdin, stdout, stderr, env, version)
	err := a.Execute(ctx, root(a), args)
	var usage *cli.UsageError
	var asked *garden.AskError
	var part *cli.PartError
	switch {
	case err == nil:
		return statusDone
	case errors.Is(err, cli.ErrRefused):
		return statusRefused
	case errors.Is(err, cli.ErrNothing):
		return statusFailed
	}
	fmt.Fprintf(stderr, "hueward: %s\n", cli.OneLine(hints.Line(err)))
	switch {
	case errors.As(err, &usage), errors.As(err, &asked):
		return statusUsage
	case errors.As(err, &part), a.Changed(): // what came before the error is kept
		return statusRefused
	}
	return statusFailed
}
