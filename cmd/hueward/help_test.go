package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strings"
	"sync"
	"testing"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/report/guide"
)

// commands returns every command that a user can see.
func commands(t *testing.T) []*cobra.Command {
	t.Helper()
	var all []*cobra.Command
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		all = append(all, c)
		for _, sub := range c.Commands() {
			visit(sub)
		}
	}
	visit(root(cli.New(nil, &bytes.Buffer{}, &bytes.Buffer{}, nil, version)))
	if len(all) < 12 {
		t.Fatalf("%d commands, want all", len(all))
	}
	return all
}

func TestHelpText(t *testing.T) {
	ends := regexp.MustCompile(`(?s)\n\nEXIT STATUS\n  0  done\n  1  failed, nothing changed\n  2  wrong usage(\n  3  done, but [^\n]+)?$`)
	for _, c := range commands(t) {
		if !ends.MatchString(c.Long) {
			t.Errorf("%s: the help does not end with its exit statuses", c.CommandPath())
		}
		if c.Short == "" || c.Example == "" {
			t.Errorf("%s: no short help or no example", c.CommandPath())
		}
		for line := range strings.Lines(c.Long) {
			if n := len([]rune(strings.TrimRight(line, "\n"))); n > 84 {
				t.Errorf("%s: a help line of %d characters does not fit a terminal: %q", c.CommandPath(), n, line)
			}
		}
	}
}

// TestHelpExamples runs every example of every help text in a shell, each
// command's in its order, in a folder with a book and the photos they name.
func TestHelpExamples(t *testing.T) {
	t.Parallel()
	for _, c := range commands(t) {
		t.Run(strings.ReplaceAll(c.CommandPath(), " ", "_"), func(t *testing.T) {
			t.Parallel()
			dir := exampleFolder(t)
			env := append(plainEnviron(), "HUEWARD_BOOK="+filepath.Join(dir, "book"))
			if c.Name() == "measure" || c.Name() == "hueward" { // shown to work without a book
				env = plainEnviron()
			}
			for line := range strings.Lines(c.Example) {
				line = strings.TrimSpace(line)
				if strings.HasPrefix(line, "hueward demo ") {
					if c.Name() != "demo" {
						continue // its own help has the same line
					}
					if !full { // testdata/script/demo.txtar runs it
						if err := c.ParseFlags(strings.Fields(line)[2:]); err != nil {
							t.Errorf("%q: %v", line, err)
						}
						continue
					}
					line += " --plants 3" // the same, but quicker
				}
				if c.Name() == "serve" {
					serveUntilStopped(t, line, dir, env)
					continue
				}
				if out, err := typed(line, dir, env); err != nil {
					t.Errorf("%q: %v\n%s", line, err, out)
				}
			}
		})
	}
}

// plainLine is a command line of which a shell makes the words that stand there, or those between double quotes.
var plainLine = regexp.MustCompile("^hueward( (\"[^\"$`\\\\]*\"|[^\\s\"'|<>$*?&;`\\\\#()~\\[\\]{}!]+))*$")

// typed runs a line in a folder, by a shell or, where that comes to the same, by a worker, which is there already; with
// HUEWARD_FULL=1 always by a shell.
func typed(line, dir string, env []string) (string, error) {
	sh := exec.Command("sh", "-ec", line)
	sh.Dir, sh.Env = dir, env
	if full || !plainLine.MatchString(line) {
		out, err := sh.CombinedOutput()
		return string(out), err
	}
	o := order{Dir: dir, Env: sh.Environ()}
	for _, w := range regexp.MustCompile(`"[^"]*"|[^\s"]+`).FindAllString(line, -1)[1:] {
		o.Args = append(o.Args, strings.Trim(w, `"`))
	}
	var w *worker
	var err error
	select {
	case w = <-idle:
	default:
		if w, err = startWorker(); err != nil {
			return "", err
		}
	}
	var is done
	if err := errors.Join(w.orders.Encode(o), w.results.Decode(&is)); err != nil {
		w.end()
		return "", fmt.Errorf("the program ended in the middle of it: %w", err)
	}
	idle <- w
	if is.Status != statusDone {
		err = fmt.Errorf("exit status %d", is.Status)
	}
	return is.Out + is.Err, err
}

// plainEnviron is the environment without what changes the output.
func plainEnviron() []string {
	return append(os.Environ(), "TERM=dumb", "COLORTERM=", "CLICOLOR_FORCE=", "NO_COLOR=", "HUEWARD_BOOK=")
}

// exampleFolder is a folder with the photos, the list and the book that examples
// name: a copy of one that is made once.
func exampleFolder(t *testing.T) string {
	t.Helper()
	return copyWorld(t, must.Have(examples())(t))
}

// examples is the folder that is copied.
var examples = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "hueward-examples-")
	if err == nil {
		err = makeExamples(dir)
	}
	return dir, err
})

func makeExamples(dir string) (err error) {
	t := &failing{}
	defer t.end(&err)
	pocket := photo.Info{Make: "Garden", Model: "Pocket 1"}
	for name, s := range map[string]render.Scene{
		"photo.jpg":         {Petal: cie.Lab{L: 76, A: 15, B: 39}, Seed: 1},
		"photos/M-07_1.jpg": {Petal: cie.Lab{L: 76, A: 15, B: 39}, Seed: 2},
		"photos/M-12_1.jpg": {Petal: cie.Lab{L: 84, A: 8, B: 30}, Seed: 3},
		"chart.jpg":         {Phone: &render.UsualPhone, Seed: 4},
	} {
		s.Width, s.Height, s.EV = 900, 675, -0.5
		info := pocket
		if info.GPS = s.Phone == nil; !info.GPS {
			must.OK(t, addChart(&s, chartFile))
		}
		must.Have(drawFile(filepath.Join(dir, name), s, info))(t)
	}
	for name, text := range map[string]string{
		"chart.txt":  string(must.Have(os.ReadFile(chartFile))(t)),
		"plants.csv": "file,plant\nphotos/M-07_1.jpg,M-07\n",
		"family.csv": "plant,line,season,seed_parent,pollen_parent\n" +
			"F-41,buff apricot,2026,M-07,M-12\nF-42,buff apricot,2026,M-12,M-07\n",
		"family-readings.csv": "plant,season,date,L,a,b,se,source\n" +
			"F-41,2026,2026-07-14,79,13,36,0.3,colorimeter\nF-42,2026,2026-07-14,81,11,33,0.3,colorimeter\n",
		"new-plants.csv":  "plant,line,season,note\nM-31,buff apricot,2026,from a neighbour\n",
		"colorimeter.csv": "plant,season,date,L,a,b,se,source\nM-31,2026,2026-07-14,76.2,15,38,0.3,colorimeter\n",
	} {
		must.OK(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	book := filepath.Join(dir, "book")
	env := []string{"HUEWARD_BOOK=" + book}
	for _, args := range [][]string{
		{"new", book, "--line", "buff apricot", "--season", "2026"},
		{"target", "buff apricot", "--lab", "76,14,38"},
		{"plants", "add", "M-01", "M-02", "M-03", "M-04", "M-09", "C-04"},
		{"measure", filepath.Join(dir, "photos")},
		{"import", filepath.Join(dir, "family.csv"), filepath.Join(dir, "family-readings.csv")},
		{"cross", "M-07", "M-01", "--heads", "2", "--on", "2026-07-01"},
		{"cross", "M-02", "M-12", "--heads", "2", "--on", "2026-07-01"},
		{"cross", "M-04", "--self", "--on", "2026-07-01"},
		{"cross", "M-12", "--open", "--on", "2026-07-01"},
		{"head", "M-07", "bag", "--on", "2026-07-03"},
		{"head", "M-02-2", "bag", "--on", "2026-07-03"},
		{"head", "M-07", "pollinate", "--on", "2026-07-05"},
		{"head", "M-07", "pollinate", "--on", "2026-07-06"},
		{"head", "M-07", "harvest", "--on", "2026-08-02", "--seeds", "30"},
		{"packet", "make", "--bought", "orange single", "--seeds", "80", "--season", "2026"},
		{"packet", "make", "--bought", "cream double", "--seeds", "80", "--season", "2026"},
		{"packet", "make", "--bought", "mixed", "--seeds", "80", "--season", "2026"},
		{"sow", "P26-002", "--seeds", "60", "--season", "2027"},
		{"pollen", "collect", "M-07", "--on", "2026-07-01"},
		{"crops", "add", "zinnia-4x", "--like", "zinnia", "sets=4"},
		{"backup", filepath.Join(dir, "monday.db")},
	} {
		if status, _, stderr := ran(env, args...); status != statusDone {
			return fmt.Errorf("hueward %q ends with status %d: %s", args, status, stderr)
		}
	}
	return nil
}

// TestReadme runs the commands of README.md and of the guide as they stand, all of them in
// one folder, in their order, and holds that what is said to be printed is printed. Left out are
// those of Go itself, which README.md begins with: .ci/run runs them.
func TestReadme(t *testing.T) {
	t.Parallel()
	readme := must.Have(os.ReadFile(moduleAt + "/README.md"))(t)
	texts := []string{string(readme)}
	for _, topic := range guide.Topics {
		texts = append(texts, topic.Source())
	}
	dir := exampleFolder(t)
	must.OK(t, os.RemoveAll(filepath.Join(dir, "book"))) // the reader starts one
	block := regexp.MustCompile("(?ms)^(<!-- prints -->\\s*)?```(?:sh)?\\n(.*?)^```")
	ran, held := 0, 0
	for _, text := range texts {
		var out []byte
		var err error
		for _, m := range block.FindAllStringSubmatch(text, -1) {
			switch {
			case m[1] != "":
				for line := range strings.Lines(m[2]) {
					held++
					if want := strings.Join(strings.Fields(line), " "); !strings.Contains(strings.Join(strings.Fields(string(out)), " "), want) {
						t.Errorf("said to be printed, and is not: %s\n%s", line, out)
					}
				}
			case strings.Contains(m[2], "go run ") || strings.Contains(m[2], "hueward serve"):
			default:
				ran++
				sh := exec.Command("sh", "-ec", m[2])
				sh.Dir, sh.Env = dir, plainEnviron()
				if out, err = sh.CombinedOutput(); err != nil {
					t.Errorf("%v\n%s\n%s", err, m[2], out)
				}
			}
		}
	}
	if ran < 10 || held < 1 {
		t.Errorf("%d blocks of commands and %d printed lines were found, want more", ran, held)
	}
}

func TestCommit(t *testing.T) {
	set := func(kv ...string) *debug.BuildInfo {
		b := &debug.BuildInfo{}
		for i := 0; i < len(kv); i += 2 {
			b.Settings = append(b.Settings, debug.BuildSetting{Key: kv[i], Value: kv[i+1]})
		}
		return b
	}
	const revision = "0123456789abcdef0123456789abcdef01234567"
	installed := &debug.BuildInfo{}
	installed.Main.Version = "v0.1.0"
	for want, info := range map[string]*debug.BuildInfo{
		"commit not known": nil,
		"commit not known: built outside a clone of its source": {},
		"module version v0.1.0":                                 installed,
		"commit 0123456789ab of 2026-08-01 16:05 UTC": set("vcs.revision", revision,
			"vcs.time", "2026-08-01T18:05:09+02:00", "vcs.modified", "false"),
		"commit 0123456789ab of 2026-08-01 16:05 UTC, with changes that are not committed": set("vcs.revision", revision,
			"vcs.time", "2026-08-01T16:05:09Z", "vcs.modified", "true"),
	} {
		if got := commit(info); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
