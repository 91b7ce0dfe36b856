//go:build unix

package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"hueward/colorimg/must"
)

// plainUser runs commands as a user whom the modes of files bind: nobody, where the tests
// are run by one whom they do not.
func plainUser(t *testing.T, dir string) func(status int, args ...string) (stdout, stderr string) {
	t.Helper()
	for d := dir; strings.HasPrefix(d, os.TempDir()) && d != os.TempDir(); d = filepath.Dir(d) {
		must.OK(t, os.Chmod(d, 0o755))
	}
	self := must.Have(os.Executable())(t)
	program := filepath.Join(dir, "hueward") // testscript's main knows it by its name
	must.OK(t, os.WriteFile(program, must.Have(os.ReadFile(self))(t), 0o755))
	return func(status int, args ...string) (string, string) {
		t.Helper()
		cmd := exec.Command(program, args...)
		cmd.Dir, cmd.Env = dir, []string{"TMPDIR=/tmp"}
		if os.Geteuid() == 0 {
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
		var stdout, stderr bytes.Buffer
		cmd.Stdout, cmd.Stderr = &stdout, &stderr
		got, exit := 0, (*exec.ExitError)(nil)
		if err := cmd.Run(); errors.As(err, &exit) {
			got = exit.ExitCode()
		} else if err != nil {
			t.Fatal(err)
		}
		if got != status {
			t.Fatalf("hueward %q: status %d, want %d\n%s", args, got, status, stderr.String())
		}
		return stdout.String(), stderr.String()
	}
}

// protect takes the right to write to anything below dir away.
func protect(t *testing.T, dir string) {
	t.Helper()
	set := func(dirs, files fs.FileMode) {
		if err := filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if d.IsDir() {
				return os.Chmod(file, dirs)
			}
			return os.Chmod(file, files)
		}); err != nil {
			t.Fatal(err)
		}
	}
	set(0o555, 0o444)
	t.Cleanup(func() { set(0o755, 0o644) })
}

// A book that may not be written to, as on a stick that is locked, can be read, ranked
// and exported; what would change it says so in a line, and nothing is changed.
func TestReadOnlyBook(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	user := plainUser(t, dir)
	out := filepath.Join(dir, "out")
	must.OK(t, errors.Join(os.Mkdir(out, 0o777), os.Chmod(out, 0o777)))
	b := filepath.Join(dir, "b")
	if os.Geteuid() != 0 {
		t.Log("run by a plain user")
	}
	protect(t, b)
	before := contentsOf(t, b)
	for _, args := range [][]string{
		{"plants"}, {"rank"}, {"trend"}, {"history"}, {"today", "--on", "2026-07-20"}, {"check"}, {"photos", "--all"}, {"head"},
		{"export", filepath.Join(out, "tables"), "--photos"}, {"export", "--xlsx", filepath.Join(out, "x.xlsx")},
		{"report", "-o", filepath.Join(out, "x.html")}, {"tags", "--all", "-o", filepath.Join(out, "x.pdf")},
		{"backup", filepath.Join(out, "x.db")},
	} {
		stdout, _ := user(statusDone, append(args, "--book", b)...)
		if len(stdout) == 0 {
			t.Errorf("%v tells nothing", args)
		}
	}
	shot := filepath.Join(dir, "M-01_1.jpg")
	for _, args := range [][]string{
		{"plants", "add", "M-09"}, {"plants", "keep", "M-01"}, {"score", "M-01", "form=3"}, {"undo"}, {"target", "buff", "--within", "4"},
		{"measure", shot, "--again"}, {"import", filepath.Join(out, "tables"), "--update"}, {"cross", "M-01", "--self", "--season", "2026"},
		{"backup"},
		{"report"},
	} {
		_, stderr := user(statusFailed, append(args, "--book", b)...)
		lines := strings.Split(strings.TrimSuffix(stderr, "\n"), "\n")
		last := lines[len(lines)-1]
		if !strings.HasPrefix(last, "hueward: ") || !strings.Contains(last, ";") || strings.Contains(stderr, "disk I/O") {
			t.Errorf("%v: %q", args, stderr)
		}
	}
	if after := contentsOf(t, b); after != before {
		t.Errorf("changed\n%s\nto\n%s", before, after)
	}
}

// An old book that may not be written to cannot be brought up to date, and says what to
// do. Checking one changes nothing, whoever may write to it.
func TestOldBookStays(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	user := plainUser(t, dir)
	for _, version := range []string{"v1", "v3"} {
		b := filepath.Join(dir, version)
		must.OK(t, os.CopyFS(b, os.DirFS(filepath.Join("..", "..", "selection", "book", "testdata", version))))
		before := contentsOf(t, b)
		hueward(t, statusDone, "check", "--quick", "--book", b)
		if after := contentsOf(t, b); after != before {
			t.Errorf("%s: check changed\n%s\nto\n%s", version, before, after)
		}
		protect(t, b)
		_, stderr := user(statusFailed, "plants", "--book", b)
		if strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "copy its folder to where it may be written to") {
			t.Errorf("%s: %q", version, stderr)
		}
		user(statusDone, "check", "--quick", "--book", b)
	}
}

// What is no ordinary file is refused in a line, and nobody waits for a writer that never comes.
func TestPipes(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	pipe := filepath.Join(dir, "pipe.csv")
	must.OK(t, errors.Join(syscall.Mkfifo(pipe, 0o666), os.Mkdir(filepath.Join(dir, "p"), 0o777),
		syscall.Mkfifo(filepath.Join(dir, "p", "book.db"), 0o666)))
	shot, b := filepath.Join(dir, "M-01_1.jpg"), filepath.Join(dir, "b")
	for _, args := range [][]string{
		{"measure", shot, "--no-book", "--list", pipe}, {"measure", shot, "--no-book", "--patches", pipe}, {"import", pipe, "--book", b},
		{"photos", "assign", "--list", pipe, "--book", b}, {"plants", "--book", filepath.Join(dir, "p")}, {"camera", shot, "--patches", pipe},
		{"backup", "restore", pipe, "--book", b}, {"target", "buff", "--photo", pipe, "--book", b},
	} {
		_, stderr := hueward(t, statusFailed, args...)
		if n := strings.Count(stderr, "\n"); n != 1 || !strings.HasPrefix(stderr, "hueward: ") {
			t.Errorf("%v: %q", args, stderr)
		}
	}
}
