package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"hueward/colorimg/must"
	"hueward/selection/book"
)

// failingLines are command lines that cannot be done on the world of prepare; many fail at
// the last of several things. ~ is a space within a word, "" an empty one, ^G a character
// that rings a bell, ^Z one that is not seen.
const failingLines = `nonsense
--nonsense
backup @in
backup @nowhere/x.db
backup @garden/book.db
backup @in/earlier.db
backup --keep -1
backup restore @in
backup restore @garden
backup restore @in/update.csv
backup restore @nowhere
camera @in/nowhere.jpg
camera @in/plain/0.png
camera --forget Nobody's~Phone
camera @in/update.csv --patches @in/update.csv
check extra
check --book @in
completion nosuch
cross M-01 M-99
cross M-01..M-03 M-99
cross M-01 M-02 --heads -1
cross M-01 --self --open
cross M-01 M-02 --on 2199-01-01
cross M-01 M-02 --seeds x
cross M-01 M-02 --stored L26-009
cross fix X26-009 --seeds 3
cross fix X26-001 --pollen M-99
cross fix X26-001 --seeds -3
cross fix X26-001 --made 31.2.2026
cross remove X26-009
cross remove X26-001 X26-009
cross selfs X26-009
crops nosuch --nosuch
crops add zinnia
crops add a/b
crops add new ripe=x
crops add new --like nosuch
crops add new ripe=20-30 nosuch=3
crops frost 99-99
crops frost soon
crops line nosuch zinnia
crops line buff nosuch
crops remove zinnia
crops remove nosuch
crops set zinnia ripe=40-20
crops set nosuch ripe=20-30
crops set zinnia ripe=20-30 nosuch=1
demo @in
demo @new --plants 1
export @garden
export @in
export @nowhere.csv --table nosuch
export --table nosuch
export @garden/photos/x
export --xlsx @in/update.csv
head M-99 bag
head M-01 nosuch
head M-01-1..9 harvest --seeds -2
head M-01-1 M-99 bag
head M-01-1 harvest --on 2199-01-01
head M-01-1 fix --bagged x
history --limit -1
import @nowhere.csv
import @in/plants.csv @nowhere.csv
import @in/bad.csv
import @in/plain
import @in/plants.csv --as nosuch
import @in/earlier.db
lines extra
lines rename nosuch new
lines rename buff ""
measure @nowhere.jpg
measure @in/update.csv
measure @in/photos --plant a/b
measure @in/photos --line nosuch
measure @in/photos --card 1,2
measure @in/photos --plant M-01..M-02
measure @in/photos --list @nowhere.csv
new @garden
new @in
new @in/update.csv
new @in/plain
packet --nosuch
packet dry P26-009
packet dry P26-001 P26-009
packet dry P26-001 --on 2199-01-01
packet fix P26-009 --seeds 3
packet fix P26-001 --seeds -9
packet fix P26-001 P26-009 --note x
packet fix P26-001 --grams -1
packet make
packet make M-01-1
packet make --cross X26-009
packet make --bought x --seeds -1
packet make --bought x --grams nan
packet make M-99-1
packet out P26-009 --given --seeds 3
packet out P26-001 --given --seeds 0
packet out P26-001 --seeds 3
packet remove P26-009
packet remove P26-001 P26-009
packet test P26-001 --sprouted 3
packet test P26-001 --seeds 0
packet test P26-009 --seeds 9
pairs nosuch
pairs --among M-99
pairs --top -1
photos --plant M-99
photos nosuch
photos assign M-01 #9
photos assign a/b #1
photos assign --none #1 #9
photos assign --list @nowhere.csv
photos assign M-01
photos remove #9
photos remove #1 #9
photos remove
plan nosuch
plan --seasons 0
plants --season a/b
plants --status odd
plants add a/b
plants add M-01
plants add X-3..X-1
plants add X-1 --line "" --season a/b
plants add none
plants add X-1..X-9999
plants clone M-99 --cuttings 2
plants clone M-01 --cuttings -1
plants clone M-01 --by tuber --ids T-1,M-02
plants clone M-01
plants drop M-99
plants drop M-01 M-99
plants drop M-01 --as odd
plants founders bought M-99
plants founders bought M-01 M-99
plants founders bought M-01 --inbreeding 2
plants keep M-99
plants keep M-01..M-03 M-99
plants keep
plants list --status odd
plants merge M-01 M-01
plants merge M-01 M-99
plants merge M-01..M-02 M-03
plants move M-99 --to red
plants move M-01 M-99 --to red
plants move M-01 --to ""
plants note M-99 x
plants note M-01
plants note M-03..M-01 x
plants parents M-01 M-01 none
plants parents M-01 M-99 none
plants parents M-03..M-04 M-01 M-04
plants parents M-01
plants place M-99 bed
plants place M-01 bed^G
plants remove M-01
plants remove M-04 M-01
plants remove M-99
plants rename M-01 M-02
plants rename M-99 X
plants rename M-01 a/b
plants rename M-01 M^Z-9
plants show M-99
pollen --nosuch
pollen collect M-99
pollen collect M-01 --on 2199-01-01
pollen dry L26-009
pollen fix L26-009 --place jar
pollen remove L26-009
pollen used L26-009
rank nosuch
rank --keep -1
rank --must nosuch
rank --weigh form=x
rank --season a/b
ratios M-99
ratios --of M-99
redo
report nosuch
report -o @garden/book.db
report -o @nowhere/x.html
report -o @in/update.csv
score M-99 form=3
score M-01 M-99 form=3
score M-01 form=9
score M-01 form=3 nosuch=4
score M-01 form=nan
score M-01..M-03 form=3 --on 31.2.2026
score trait new --scale 5..1
score trait new --scale 1..3 --words a,b
score trait a=b
score trait new --better sideways
serve --port 99999
serve --book @in
sow P26-009 --seeds 9
sow P26-001 --seeds -1
sow P26-001 --seeds 5 --ids K-1,M-01
sow P26-001 --seeds 6 --plants -4
sow P26-001
sow out S26-009
sow remove S26-009
sow up S26-009 --plants 3
tags M-99
tags --all -o @garden/book.db
tags --all -o @nowhere/x.pdf
tags --grid 0x0
target buff --lab 1,2
target buff --hex nosuch
target buff --lab 70,18,30 --within -1
target buff --photo @nowhere.jpg
target buff --photo @in/plain/0.png
today --on x
today --ics @garden/book.db
trend nosuch
trend --checks M-99
undo extra
version extra`

// Exit status 1 means that nothing changed, and so does 2: after each way in which a
// command fails, the book and the files around it are what they were, and one line says
// why. Where something was done before the failure the status is 3.
func TestFailingChangesNothing(t *testing.T) {
	t.Parallel()
	root := copyWorld(t, must.Have(model())(t))
	bad := filepath.Join(root, "in", "bad.csv")
	must.OK(t, os.WriteFile(bad, []byte("plant,line,season\nB-1,buff,2026\nB-2,buff,\n"), 0o600))
	look := func() string {
		t.Helper()
		rows := must.Have(dump(filepath.Join(root, "garden", book.DBName)))(t)
		var files strings.Builder
		if err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
			if err != nil || strings.HasPrefix(d.Name(), book.DBName+"-") {
				return err
			}
			info, err := d.Info()
			if err == nil && !d.IsDir() && d.Name() != book.DBName {
				fmt.Fprintln(&files, file, info.Size())
			} else {
				fmt.Fprintln(&files, file)
			}
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return rows + files.String()
	}
	before := look()
	all := commands(t)
	for _, c := range all {
		name := strings.TrimPrefix(c.CommandPath(), "hueward ")
		lines := linesOf(name, all)
		if len(lines) == 0 && c.Runnable() && name != "help" {
			t.Errorf("%s: no way in which it fails is known", name)
		}
		for i, line := range lines {
			args := strings.Split(line, " ")
			for i := range args {
				if args[i] = strings.NewReplacer("~", " ", "^G", "\a", "^Z", "\u200b").Replace(args[i]); args[i] == `""` {
					args[i] = ""
				}
			}
			if !slices.Contains(args, "--book") {
				args = append(args, "--book", "@garden")
			}
			status, out, errs := ran(nil, placed(root, args)...)
			bad := func(format string, args ...any) error {
				return fmt.Errorf("%s\nstatus %d, %s%s", fmt.Sprintf(format, args...), status, out, errs)
			}
			err := said(errs, statusFailed, bad)
			if status == statusDone {
				err = bad("it is done")
			}
			if err == nil && (status == statusRefused || i == len(lines)-1) {
				after := look()
				switch {
				case after != before && status != statusRefused:
					err = bad("it, or a line of %s before it, changed something:\n%s", name, differs(&world{rows: before}, &world{rows: after}))
				case after == before && status == statusRefused && name != "measure": // where a refusal is a result
					err = bad("nothing was done")
				}
				before = after
			}
			if err != nil {
				t.Errorf("%s: %v", line, err)
			}
		}
	}
}

// linesOf are the lines of one command, but for those of the commands below it.
func linesOf(name string, all []*cobra.Command) (out []string) {
	for line := range strings.Lines(failingLines) {
		line = strings.TrimSpace(line)
		of := ""
		for _, c := range all {
			if n := strings.TrimPrefix(c.CommandPath(), "hueward "); strings.HasPrefix(line+" ", n+" ") && len(n) > len(of) {
				of = n
			}
		}
		if of == name || of == "" && name == "hueward" {
			out = append(out, line)
		}
	}
	return out
}
