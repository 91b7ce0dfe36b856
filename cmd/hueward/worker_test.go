package main

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"

	"github.com/rogpeppe/go-internal/testscript"
)

// A script's commands run one after the other in one process of the program, a worker, since starting one for each of a
// thousand commands takes longer than what they do. With HUEWARD_FULL=1 each has a process of its own.

// asWorker in the environment makes the program a worker.
const asWorker = "HUEWARD_TEST_WORKER"

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

// worker is the process of a script.
type worker struct {
	orders  *gob.Encoder
	results *gob.Decoder
	vars    []string // names of what may stand in a script's environment
}

type workerKey struct{}

// startWorker starts a script's worker, which ends with the script.
func startWorker(e *testscript.Env) error {
	cmd := exec.Command("hueward")
	cmd.Env, cmd.Stderr = append(os.Environ(), asWorker+"=1"), os.Stderr
	orders, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	results, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	w := &worker{orders: gob.NewEncoder(orders), results: gob.NewDecoder(results), vars: setByScripts()}
	for _, v := range e.Vars {
		name, _, _ := strings.Cut(v, "=")
		w.vars = append(w.vars, name)
	}
	e.Values[workerKey{}] = w
	e.Defer(func() { orders.Close(); cmd.Wait() })
	return cmd.Start()
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
	w, o := ts.Value(workerKey{}).(*worker), order{Dir: ts.MkAbs(""), Args: args}
	for _, name := range w.vars {
		o.Env = append(o.Env, name+"="+ts.Getenv(name))
	}
	o.Env = append(o.Env, "PWD="+o.Dir)
	ts.Check(w.orders.Encode(o))
	var is done
	if err := w.results.Decode(&is); err != nil {
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
