//go:build unix

package main

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"unicode"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// writers are all commands that write a file of a name that is given; the name comes
// last, or where it says FILE.
var writers = []struct {
	name, ending string
	args         []string
	stdout       bool // - is standard output
	folder       bool // what is written is a folder
	again        []string
}{
	{name: "report", ending: ".html", args: []string{"report", "-o"}, stdout: true},
	{name: "tags", ending: ".pdf", args: []string{"tags", "--all", "-o"}, stdout: true},
	{name: "heads", ending: ".pdf", args: []string{"tags", "--heads", "-o"}, stdout: true},
	{name: "packets", ending: ".pdf", args: []string{"tags", "--packets", "-o"}, stdout: true},
	{name: "sheet", ending: ".pdf", args: []string{"tags", "--photo-sheet", "a5", "-o"}, stdout: true},
	{name: "calendar", ending: ".ics", args: []string{"today", "--on", "2026-07-20", "--ics"}, stdout: true},
	{name: "workbook", ending: ".xlsx", args: []string{"export", "--xlsx"}, stdout: true, again: []string{"--force"}},
	{name: "export", args: []string{"export"}, folder: true, again: []string{"--force"}},
	{name: "backup", ending: ".db", args: []string{"backup"}},
}

// writtenGarden is a folder with a book in it of which each of the writers has
// something to write.
func writtenGarden(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	must.OK(t, os.CopyFS(dir, os.DirFS(must.Have(written())(t))))
	return dir
}

// written is the folder that is copied.
var written = sync.OnceValues(func() (dir string, err error) {
	t := &failing{}
	defer t.end(&err)
	dir = must.Have(os.MkdirTemp("", "written-"))(t)
	shot := filepath.Join(dir, "M-01_1.jpg")
	must.Have(drawFile(shot, render.Scene{Width: 480, Height: 360, EV: -0.5, Seed: 1}, photo.Info{}))(t)
	in := func(args ...string) {
		if status, _, errs := ran([]string{"HUEWARD_BOOK=" + filepath.Join(dir, "b")}, args...); status != statusDone {
			t.Fatal(args, errs)
		}
	}
	in("new", filepath.Join(dir, "b"), "--line", "buff", "--season", "2026")
	in("target", "buff", "--lab", "76,14,38")
	in("measure", shot)
	in("cross", "M-01", "--open", "--heads", "1", "--season", "2026")
	in("packet", "make", "--bought", "old sort", "--line", "buff", "--season", "2026", "--seeds", "20")
	return dir, nil
})

// contentsOf are the files below dir: kinds, links, and sums of what they hold.
func contentsOf(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		sum := ""
		if d.Type().IsRegular() && !strings.HasSuffix(file, "-shm") { // locks are in it
			content, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			sum = fmt.Sprintf("%x", sha256.Sum256(content))[:12]
		}
		fmt.Fprintln(&b, file, d.Type(), sum)
		return nil
	})
	must.OK(t, err)
	return b.String()
}

// Every command that writes a file of a given name writes over nothing but its own
// earlier output, and never a file of a book, a device, a pipe or a folder.
func TestOutputDestroysNothing(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	at := func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) }
	photos, err := filepath.Glob(at("b/photos/2026/M-01/*"))
	if err != nil || len(photos) != 1 {
		t.Fatal(photos, err)
	}
	must.OK(t, os.WriteFile(at("diary.html"), []byte("<!DOCTYPE html>\n<title>made with hueward</title>\n"), 0o666))
	must.OK(t, os.WriteFile(at("empty"), nil, 0o666))
	must.OK(t, os.Mkdir(at("full"), 0o777))
	must.OK(t, os.WriteFile(at("full/plants.csv"), []byte("id\nmine\n"), 0o666))
	must.OK(t, os.Symlink(at("b/book.db"), at("link.html")))
	must.OK(t, os.Symlink(at("b"), at("linked")))
	must.OK(t, os.Symlink(at("nowhere/x.html"), at("dangling.pdf")))
	must.OK(t, os.Symlink(photos[0], at("photo.pdf")))
	must.OK(t, os.Link(at("b/book.db"), at("hard.html")))
	must.OK(t, os.Link(photos[0], at("hard.pdf")))
	must.OK(t, syscall.Mkfifo(at("pipe.ics"), 0o666))
	// A report of hueward's own among the photos is a photo.
	hueward(t, statusDone, "report", "--book", at("b"), "-o", at("own.html"))
	hueward(t, statusDone, "tags", "--all", "--book", at("b"), "-o", at("own.pdf"))
	must.OK(t, os.Rename(at("own.html"), at("b/photos/own.html")))
	must.OK(t, os.Rename(at("own.pdf"), at("b/backups/own.pdf")))
	targets := []string{
		"b/book.db", "b/book.db-wal", "b/book.db-journal", "b/BOOK.DB", "b/Book.db-WAL", "b/book.db.new", photos[0], "b/photos/new.xlsx",
		"b/PHOTOS", "b/photos/2026/M-01/new.html", "b/photos/own.html", "b/backups/own.pdf", "b/backups/new.xlsx", "b/Backups/x.pdf",
		"linked/book.db", "linked/book.db-wal", "linked/photos/x.html", "b/../b/book.db", "link.html", "dangling.pdf", "photo.pdf",
		"hard.html", "hard.pdf", "pipe.ics", "/dev/null", "/dev/full", "/dev/stdin", "diary.html", "empty", "full", "full/plants.csv", "b",
		"b/photos", "b/backups", "new/", "diary.html/x", "",
	}
	before := contentsOf(t, dir)
	for _, w := range writers {
		for i, target := range targets {
			if w.args[0] == "tags" && w.name != "tags" && i%5 != 0 {
				continue // they share the way out
			}
			if target != "" && !filepath.IsAbs(target) {
				target = dir + "/" + target
			}
			if w.folder && strings.HasSuffix(target, "new/") || w.name == "backup" && target == "" || w.folder && target == "" {
				continue // a folder may be named so; no name is the usual place
			}
			if w.name == "workbook" && !strings.HasSuffix(target, ".xlsx") && target != "" {
				must.OK(t, os.Symlink(target, at("t.xlsx")))
				target = at("t.xlsx")
			}
			status := statusFailed
			if target == "" {
				status = statusUsage
			}
			args := append(append(append([]string{}, w.args...), target, "--book", at("b")), w.again...)
			_, stderr := hueward(t, status, args...)
			if strings.Count(stderr, "\n") != 1 || !strings.HasPrefix(stderr, "hueward: ") || !strings.ContainsAny(stderr, ";,") {
				t.Errorf("%v: want one line that says what to do, got %q", args, stderr)
			}
			os.Remove(at("t.xlsx"))
			if after := contentsOf(t, dir); after != before {
				t.Fatalf("%v changed\n%s\nto\n%s", args, before, after)
			}
		}
	}
}

// An earlier output is written over, by its content and whatever its name; that of
// another command is not.
func TestOutputAgain(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	book := []string{"--book", filepath.Join(dir, "b")}
	for _, w := range writers {
		name := filepath.Join(dir, w.name+w.ending)
		write := func(status int, name string, more ...string) (stdout, stderr string) {
			t.Helper()
			return hueward(t, status, append(append(append(append([]string{}, w.args...), name), book...), more...)...)
		}
		write(statusDone, name)
		if w.name == "backup" { // none takes the place of another
			write(statusFailed, name)
			continue
		}
		if !w.folder {
			must.OK(t, os.Chmod(name, 0o600))
			link := filepath.Join(dir, "link-"+w.name+w.ending)
			must.OK(t, os.Symlink(name, link))
			write(statusDone, link, w.again...)
			if info, err := os.Lstat(link); err != nil || info.Mode().Type() != fs.ModeSymlink {
				t.Errorf("%s: the link is none any more: %v, %v", w.name, info, err)
			}
			if info, err := os.Stat(name); err != nil || info.Mode().Perm() != 0o600 {
				t.Errorf("%s: the file's mode is not what it was: %v, %v", w.name, info, err)
			}
		}
		write(statusDone, name, w.again...)
		if w.stdout {
			stdout, stderr := write(statusDone, "-")
			file, err := os.ReadFile(name)
			if err != nil || len(stdout) < len(file)*9/10 || stdout[:4] != string(file[:4]) || stderr != "" && w.name != "calendar" {
				t.Errorf("%s -: %d bytes, the file has %d; %q, %v", w.name, len(stdout), len(file), stderr, err)
			}
		} else {
			write(statusUsage, "-")
		}
		if _, err := os.Stat("-"); err == nil {
			t.Errorf("%s wrote a file of the name -", w.name)
		}
		for _, other := range writers {
			if other.ending != w.ending && other.name != "backup" && other.ending != ".xlsx" {
				_, stderr := hueward(t, statusFailed, append(append(append([]string{}, other.args...), name), book...)...)
				if strings.Count(stderr, "\n") != 1 {
					t.Errorf("%s over that of %s: %q", other.name, w.name, stderr)
				}
			}
		}
	}
	// A picture beside a photo.
	shot := filepath.Join(dir, "M-01_1.jpg")
	for _, flag := range []string{"--masks", "--explain"} {
		args := []string{"measure", shot, "--no-book", flag, filepath.Join(dir, "pictures")}
		hueward(t, statusDone, args...)
		hueward(t, statusDone, args...)
		made, err := filepath.Glob(filepath.Join(dir, "pictures", "*.png"))
		if err != nil || len(made) != 1 {
			t.Fatal(made, err)
		}
		must.OK(t, os.WriteFile(made[0], []byte("\x89PNG\r\n\x1a\na picture of mine"), 0o666))
		if _, stderr := hueward(t, statusFailed, args...); strings.Count(stderr, "\n") != 1 {
			t.Errorf("%s over another's picture: %q", flag, stderr)
		}
		if b, err := os.ReadFile(made[0]); err != nil || !strings.HasSuffix(string(b), "of mine") {
			t.Errorf("%s wrote over another's picture: %v", flag, err)
		}
		os.Remove(made[0])
		hueward(t, statusFailed, "measure", shot, "--no-book", flag, filepath.Join(dir, "b", "photos"))
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".hueward-*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// What a terminal would obey, in notes and names of files, is shown and not sent; CSV has
// it as it is. A name of a line cannot hold it, nor what makes two names look alike.
func TestHostileText(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	b := filepath.Join(dir, "b")
	in := func(status int, args ...string) (stdout, stderr string) {
		t.Helper()
		stdout, stderr = hueward(t, status, append(args, "--book", b)...)
		for _, s := range []string{stdout, stderr} {
			if i := strings.IndexFunc(s, func(r rune) bool {
				return unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r)
			}); i >= 0 {
				t.Errorf("%v sends %q", args, s[max(0, i-20):min(len(s), i+20)])
			}
		}
		return stdout, stderr
	}
	const bad = "red\x1b]0;mine\x07\x1b[2Jbed\u009b31m\u202etxt"
	table := filepath.Join(dir, "notes.csv")
	must.OK(t, os.WriteFile(table, []byte("plant,line,season,note\nM-02,buff,2026,\""+bad+"\"\n"), 0o666))
	in(statusDone, "import", table)
	if out, _ := in(statusDone, "plants"); !strings.Contains(out, `red\x1b]0;mine\x07\x1b[2Jbed\u009b31m\u202etxt`) {
		t.Errorf("plants: %q", out)
	}
	in(statusDone, "history")
	if out, _ := hueward(t, statusDone, "export", "--table", "plants", "--book", b); !strings.Contains(out, bad) {
		t.Errorf("the table lacks what was entered: %q", out)
	}
	shot := filepath.Join(dir, "a\x1b[31m\u202eb.jpg")
	must.Have(drawFile(shot, render.Scene{Width: 320, Height: 240, EV: -0.5, Seed: 3}, photo.Info{}))(t)
	in(statusDone, "measure", shot, "--plant", "M-02")
	in(statusFailed, "import", filepath.Join(dir, "no\x1b[2Jfile.csv"))
	in(statusFailed, "target", "no\x1b[2Jline", "--lab", "70,10,10")
	in(statusUsage, "rank", "--keep", "\x1b[2J")
	in(statusUsage, "no\x1b[2Jcommand")
	for _, name := range []string{"buff\u200b", "bu\u202eff", "bu\u2066ff", "bu\u00adff", "\ufeffbuff", "bu\u2028ff", "bu\u200dff"} {
		if _, stderr := in(statusFailed, "target", name, "--lab", "70,10,10"); !strings.Contains(stderr, "not seen") {
			t.Errorf("line %q: %q", name, stderr)
		}
	}
}
