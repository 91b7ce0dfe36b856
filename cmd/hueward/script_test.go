package main

import (
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(tests{m}, map[string]func(){"hueward": main})
}

// tests removes what was made for several of them.
type tests struct{ *testing.M }

func (m tests) Run() int {
	defer func() { os.RemoveAll(examplesMade) }()
	return m.M.Run()
}

// TestScripts runs the commands as a user does. Beside testscript's own
// commands there are those of scriptCommands.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                "testdata/script",
		Cmds:               scriptCommands,
		Setup:              plainEnv,
		UpdateScripts:      *update,
		RequireUniqueNames: true,
	})
}

// plainEnv keeps the terminal of whoever runs the tests out of them.
func plainEnv(e *testscript.Env) error {
	e.Setenv("TERM", "dumb")
	e.Setenv("HOME", filepath.Join(e.WorkDir, ".tmp", "home")) // no script knows of another's books
	for _, name := range []string{"COLORTERM", "CLICOLOR_FORCE", "NO_COLOR", "HUEWARD_BOOK", "TTY_FORCE"} {
		e.Setenv(name, "")
	}
	return nil
}

var scriptCommands = map[string]func(ts *testscript.TestScript, neg bool, args []string){
	"exits":     cmdExits,
	"draw":      cmdDraw,
	"drawsheet": cmdDrawSheet,
	"header":    cmdHeader,
	"shorten":   cmdShorten,
	"lines":     cmdLines,
	"files":     cmdFiles,
}

// cmdExits is "exits N command args…": the command ends with the status N.
// It leaves its output for stdout, stderr and cmp.
func cmdExits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits N command args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var e *exec.ExitError
		if !errors.As(err, &e) {
			ts.Fatalf("%v", err)
		}
		got = e.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status = %d, want %d", got, want)
	}
	if text := ts.ReadFile("stderr"); strings.Contains(text, "panic:") || strings.Contains(text, "goroutine ") {
		ts.Fatalf("the command panicked")
	}
}

// cmdLines is "lines N stderr": the text has N lines. Each line of stderr is
// one that a user can read: whose it is, and what is wrong.
func cmdLines(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: lines N stdout|stderr|FILE")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	text := ts.ReadFile(args[1])
	if got := strings.Count(text, "\n"); got != want {
		ts.Fatalf("%s has %d lines, want %d", args[1], got, want)
	}
	if args[1] == "stderr" {
		for line := range strings.Lines(text) {
			if !strings.HasPrefix(line, "hueward: ") {
				ts.Fatalf("stderr line %q does not begin with hueward:", line)
			}
		}
	}
}

// cmdFiles is "files DIR": prints all files and empty folders below DIR, so
// that a script sees what a command left behind.
func cmdFiles(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: files DIR")
	}
	root := ts.MkAbs(args[0])
	ts.Check(filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(root, path)
		if d.IsDir() {
			if entries, err := os.ReadDir(path); err != nil || len(entries) > 0 {
				return err
			}
			rel += "/"
		}
		fmt.Fprintln(ts.Stdout(), filepath.ToSlash(rel))
		return nil
	}))
}

// cmdShorten is "shorten FROM TO PERCENT": a copy cut short.
func cmdShorten(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: shorten FROM TO PERCENT")
	}
	b, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b[:len(b)*n/100], 0o666))
}
