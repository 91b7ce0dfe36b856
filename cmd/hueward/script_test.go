package main

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"hueward/colorimg/must"
	"hueward/selection/kept"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

// TestMain is the program itself where it is started by that name; the tests find it so in their path.
func TestMain(m *testing.M) {
	switch {
	case strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe") != "hueward":
		os.Exit(must.Main(func() int { return runTests(m) }))
	case os.Getenv(asWorker) != "":
		kept.In(os.Getenv(asWorker))
		work(os.Stdin, os.Stdout)
	default:
		main()
	}
}

func runTests(m *testing.M) int {
	bin, err := os.MkdirTemp("", "bin-")
	if err != nil {
		panic(err)
	}
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
	keptIn = filepath.Join(bin, "kept")
	kept.In(keptIn) // as main does: a plan is reckoned once for all who show it
	defer endWorkers()
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
	return giveWorker(e)
}

var scriptCommands = map[string]func(ts *testscript.TestScript, neg bool, args []string){
	"exits":     takes("exits N hueward args...", 2, cmdExits),
	"hueward":   cmdHueward,
	"draw":      takes("draw NAME key=value...", 1, cmdDraw),
	"drawsheet": takes("drawsheet NAME SHEET PLANT key=value...", 3, cmdDrawSheet),
	"header":    takes("header NAME.jpg|NAME.png W H", 3, cmdHeader),
	"shorten":   takes("shorten FROM TO PERCENT", 3, cmdShorten),
	"lines":     takes("lines N stdout|stderr|FILE", 2, cmdLines),
	"files":     takes("files DIR", 1, cmdFiles),
}

// takes is a command that takes so many words, or with ... more, and no ! before it.
func takes(usage string, n int, do func(ts *testscript.TestScript, args []string)) func(*testscript.TestScript, bool, []string) {
	return func(ts *testscript.TestScript, neg bool, args []string) {
		if neg || len(args) < n || len(args) > n && !strings.HasSuffix(usage, "...") {
			ts.Fatalf("usage: %s", usage)
		}
		do(ts, args)
	}
}

// cmdExits is "exits N hueward args…": the program ends with the status N.
func cmdExits(ts *testscript.TestScript, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	if args[1] != "hueward" {
		ts.Fatalf("exits %s: want hueward, not %s", args[0], args[1])
	}
	if got := inScript(ts, args[2:]); got != want {
		ts.Fatalf("exit status = %d, want %d", got, want)
	}
}

// cmdLines is "lines N stderr": the text has N lines. Each line of stderr is
// one that a user can read: whose it is, and what is wrong.
func cmdLines(ts *testscript.TestScript, args []string) {
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
func cmdFiles(ts *testscript.TestScript, args []string) {
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
func cmdShorten(ts *testscript.TestScript, args []string) {
	b, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b[:len(b)*n/100], 0o666))
}

// A script's commands run one after the other in one process of the program, a worker, which then goes on to another script,
// since starting one for each of a thousand commands takes longer than what they do. With HUEWARD_FULL=1 each has a process of
// its own.

// asWorker in the environment makes the program a worker, which keeps what took long in the folder that it names.
const asWorker = "HUEWARD_TEST_WORKER"

var keptIn string

// order is a command for a worker, done what came of it.
type (
	order struct {
		Dir       string
		Env, Args []string
	}
	done struct {
		Status   int
		Out, Err string
	}
)

// work does orders until there are no more.
func work(orders io.Reader, results io.Writer) {
	in, out := gob.NewDecoder(orders), gob.NewEncoder(results)
	for {
		var o order
		err := in.Decode(&o)
		if errors.Is(err, io.EOF) {
			return
		}
		if err == nil {
			err = os.Chdir(o.Dir)
		}
		if err != nil {
			panic(err)
		}
		os.Clearenv()
		for _, v := range o.Env {
			name, value, _ := strings.Cut(v, "=")
			os.Setenv(name, value)
		}
		var stdout, stderr bytes.Buffer
		status := run(context.Background(), o.Args, strings.NewReader(""), &stdout, &stderr, o.Env)
		if err := out.Encode(done{status, stdout.String(), stderr.String()}); err != nil {
			panic(err)
		}
	}
}

// worker is a process that does a script's commands.
type worker struct {
	orders  *gob.Encoder
	results *gob.Decoder
	end     func()
}

// scripted is what runs a script.
type scripted struct {
	*worker
	vars []string // names of what may stand in its environment
}

type scriptedKey struct{}

// idle are the workers between two scripts.
var idle = make(chan *worker, 100)

func endWorkers() {
	for len(idle) > 0 {
		(<-idle).end()
	}
}

// giveWorker gives the script a worker until it ends.
func giveWorker(e *testscript.Env) (err error) {
	s := &scripted{vars: setByScripts()}
	for _, v := range e.Vars {
		name, _, _ := strings.Cut(v, "=")
		s.vars = append(s.vars, name)
	}
	select {
	case s.worker = <-idle:
	default:
		s.worker, err = startWorker()
	}
	e.Values[scriptedKey{}] = s
	e.Defer(func() {
		if s.worker != nil {
			idle <- s.worker
		}
	})
	return err
}

func startWorker() (*worker, error) {
	cmd := exec.Command("hueward")
	cmd.Env, cmd.Stderr = append(os.Environ(), asWorker+"="+keptIn), os.Stderr
	orders, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	results, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	return &worker{gob.NewEncoder(orders), gob.NewDecoder(results), func() { orders.Close(); cmd.Wait() }}, cmd.Start()
}

// setByScripts are the variables that scripts set.
var setByScripts = sync.OnceValue(func() (names []string) {
	files, _ := filepath.Glob("testdata/script/*.txtar")
	for _, file := range files {
		text, _ := os.ReadFile(file)
		for _, line := range regexp.MustCompile(`(?m)^env .*`).FindAll(text, -1) {
			for _, m := range regexp.MustCompile(`(\w+)=`).FindAllSubmatch(line, -1) {
				names = append(names, string(m[1]))
			}
		}
	}
	return names
})

// inScript runs the program in a script, and leaves its output for stdout, stderr and cmp.
func inScript(ts *testscript.TestScript, args []string) (status int) {
	if full {
		err := ts.Exec("hueward", args...)
		var e *exec.ExitError
		if err != nil && !errors.As(err, &e) {
			ts.Fatalf("%v", err)
		} else if err != nil {
			status = e.ExitCode()
		}
		if strings.Contains(ts.ReadFile("stderr"), "goroutine ") {
			ts.Fatalf("the command panicked")
		}
		return status
	}
	s, o := ts.Value(scriptedKey{}).(*scripted), order{Dir: ts.MkAbs(""), Args: args}
	for _, name := range s.vars {
		o.Env = append(o.Env, name+"="+ts.Getenv(name))
	}
	o.Env = append(o.Env, "PWD="+o.Dir)
	var is done
	if err := errors.Join(s.orders.Encode(o), s.results.Decode(&is)); err != nil {
		s.worker.end()
		s.worker = nil
		ts.Fatalf("the program ended in the middle of it: %v", err)
	}
	fmt.Fprint(ts.Stdout(), is.Out)
	fmt.Fprint(ts.Stderr(), is.Err)
	return is.Status
}

// cmdHueward is "hueward args…", which must end with the status 0; with ! before it, with another.
func cmdHueward(ts *testscript.TestScript, neg bool, args []string) {
	if status := inScript(ts, args); (status == statusDone) == neg {
		ts.Fatalf("exit status %d", status)
	}
}
