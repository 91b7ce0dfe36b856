package main

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

// TestMain is the program itself where it is started by that name; the tests find it so in their path.
func TestMain(m *testing.M) {
	switch {
	case strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe") != "hueward":
		os.Exit(testAll(m))
	case os.Getenv(asWorker) != "":
		work(os.Stdin, os.Stdout)
	default:
		main()
	}
}

func testAll(m *testing.M) int {
	bin, err := os.MkdirTemp("", "hueward-bin-")
	if err != nil {
		panic(err)
	}
	defer func() { os.RemoveAll(bin); os.RemoveAll(examplesMade) }()
	file, err := os.Executable()
	if err != nil {
		panic(err)
	}
	named := filepath.Join(bin, "hueward"+filepath.Ext(strings.TrimSuffix(file, ".test")))
	if err := os.Link(file, named); err != nil {
		if err := os.Symlink(file, named); err != nil {
			panic(err)
		}
	}
	os.Setenv("PATH", bin+string(filepath.ListSeparator)+os.Getenv("PATH"))
	return m.Run()
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
	return startWorker(e)
}

var scriptCommands = map[string]func(ts *testscript.TestScript, neg bool, args []string){
	"exits":     cmdExits,
	"hueward":   cmdHueward,
	"draw":      cmdDraw,
	"drawsheet": cmdDrawSheet,
	"header":    cmdHeader,
	"shorten":   cmdShorten,
	"lines":     cmdLines,
	"files":     cmdFiles,
}

// cmdExits is "exits N hueward args…": the program ends with the status N.
func cmdExits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 || args[1] != "hueward" {
		ts.Fatalf("usage: exits N hueward args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	if got := inScript(ts, args[2:]); got != want {
		ts.Fatalf("exit status = %d, want %d", got, want)
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
