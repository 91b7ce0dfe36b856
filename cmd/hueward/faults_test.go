package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hueward/selection/book/booktest/faulty"
)

// TestFaults makes each call to the file system that a command makes fail in turn, of
// SQLite's and of the others: by an error, by a disk that is full from then on, and by the
// end of the program. After each the world is as before the command or as after it, as
// the exit status says; nothing is half, no hidden copy is left, and one plain line says
// what is wrong. With HUEWARD_FULL=1 each is tried, some 10 000 faults, seven minutes of a
// processor; with HUEWARD_FAULTS=6, too, every sixth; without, a few of each command.
//
// The calls by which package colorimg reads a photo are not among them.
func TestFaults(t *testing.T) {
	t.Parallel()
	every := 1
	if s := os.Getenv("HUEWARD_FAULTS"); s != "" {
		var err error
		if every, err = strconv.Atoi(s); err != nil || every < 1 {
			t.Fatalf("HUEWARD_FAULTS is %q, want a count", s)
		}
	}
	ready := made(t)
	for _, p := range ready {
		t.Run(strings.ReplaceAll(p.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			root := copyWorld(t, p.root)
			f := faulty.Watch(root, faulty.None, 0)
			runAt(root, p.args...)
			f.End()
			all, room := f.Calls()
			os.RemoveAll(root)
			tried, wrong := 0, 0
			for _, k := range []struct {
				kind  faulty.Kind
				calls int
			}{{faulty.Error, all}, {faulty.Full, room}, {faulty.Kill, all}} {
				step := every
				if !full { // some of each, never the same ones for two commands
					step = max(1, k.calls/2)
				}
				for at := 1 + len(p.name)%step; at <= k.calls && wrong < 10; at += step {
					if err := p.fail(t, k.kind, at); err != nil {
						t.Errorf("call %d of %d, %s: %v", at, k.calls, k.kind, err)
						wrong++
					}
					tried++
				}
			}
			t.Logf("%d calls, %d of which need room: %d faults", all, room, tried)
		})
	}
}

// fail runs the command with that fault, and judges what is there then.
func (p *prepared) fail(t *testing.T, kind faulty.Kind, at int) error {
	root := copyWorld(t, p.root)
	defer os.RemoveAll(root)
	f := faulty.Watch(root, kind, at)
	var out, errs bytes.Buffer
	status := run(context.Background(), placed(root, p.args), strings.NewReader(""), &out, &errs, nil)
	f.End()
	failed := f.Failed()
	if len(failed) == 0 {
		return nil // fewer calls than before, as those by several threads are
	}
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%s\nfailed: %s\nstatus %d, out %q, errors %q", fmt.Sprintf(format, args...), strings.Join(failed, "; "), status,
			out.String(), errs.String())
	}
	is, err := lookAt(root)
	if err != nil {
		return bad("%v", err)
	}
	// Where the end of a commit fails it is not sure whether it will be found: photos stay.
	unsure := slices.Contains(failed, "sync /garden/book.db-wal")
	state, err := p.judge(p.before, p.after, is, kind == faulty.Kill || unsure)
	if err != nil {
		return bad("%v", err)
	}
	if kind == faulty.Kill {
		if out.Len() > 0 && state != "after" && !p.partly {
			return bad("it said that it is done, but all is as %s", state)
		}
		return nil
	}
	switch want := map[string]int{"before": statusFailed, "after": p.status, "between": statusRefused}[state]; {
	case status == want, state != "before" && status == statusRefused:
	case state == "before" && p.partly && status == statusRefused: // each photo was refused
	default:
		return bad("all is as %s", state)
	}
	if len(is.left) > 0 && !strings.HasPrefix(failed[0], "remove ") {
		return bad("left behind: %s", strings.Join(is.left, ", "))
	}
	return said(errs.String(), status, bad)
}

// said holds what a command says of a fault against how lines are written.
func said(errs string, status int, bad func(string, ...any) error) error {
	lines := strings.Split(strings.TrimSuffix(errs, "\n"), "\n")
	if errs == "" {
		lines = nil
	}
	if status == statusFailed && len(lines) != 1 {
		return bad("%d lines of errors, want 1", len(lines))
	}
	for _, l := range lines {
		if !strings.HasPrefix(l, "hueward: ") {
			return bad("the line %q", l)
		}
		for _, raw := range []string{"disk I/O", "input/output", "SQL", "sqlite", "database", "constraint", "unable to", "no space left",
			"transaction", "%!", "(10)", "(13)", "(14)"} {
			if strings.Contains(l, raw) {
				return bad("%q in a line", raw)
			}
		}
	}
	return nil
}
