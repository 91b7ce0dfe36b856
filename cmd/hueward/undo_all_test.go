package main

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/cmd/hueward/internal/cli"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/sqlite"
)

// entering are all commands that enter something in a book, by their names: lines to run on
// the world of prepare, the last of each being the one that is taken back; ~ is a space within a word.
var entering = map[string][]string{
	"measure": {"measure @in/photos", "measure @in/plain --plant M-02", "measure @in/photos && measure @in/photos --again --no-card",
		"measure @in/photos --season 2031 --plant N-1"},
	"import": {"import @in/plants.csv", "import @in/update.csv --update", "import @in/export"},
	"target": {
		"target buff --lab 70,18,30",
		"target --lab 70,18,30 --within 2 --hold",
		"target rose --lab 60,30,10",
		"target --hex #eab076",
	},
	"photos assign": {"photos assign M-02 #1", "photos assign --none #1", "photos assign X-1 #1"},
	"photos remove": {"photos remove #1", "measure @in/photos && photos remove #1 #2 #3"},
	"camera": {
		"camera @chart.jpg --patches @chart.txt",
		"camera @chart.jpg --patches @chart.txt && camera --forget Garden~Pocket~1",
	},
	"plants add":     {"plants add X-1 X-2 X-3", "plants add X-1..X-30 --season 2027 --note new"},
	"plants note":    {"plants note M-01..M-03 sturdy, tall", "plants note M-01 "},
	"plants keep":    {"plants keep M-01..M-02", "plants keep M-01 --reserve"},
	"plants drop":    {"plants drop M-01..M-03 --as lost"},
	"plants parents": {"plants parents M-03..M-04 M-01 M-02", "plants parents M-03 none M-02"},
	"plants founders": {"plants founders bought M-01..M-03 --inbreeding 0.25", "plants founders bought M-01 && plants founders none M-01",
		"plants founders bought --note seen"},
	"plants rename": {"plants rename M-01 M-10", "plants rename M-01 m-01"},
	"plants merge": {"plants merge M-01 M-04", "plants merge M-01 M-02", "measure @in/photos && plants merge M-05 M-06",
		"plants parents M-04 M-01 none && plants merge M-01 M-03"},
	"plants move":   {"target rose --lab 60,30,10 && plants move M-01..M-03 --to rose"},
	"plants remove": {"plants remove M-04", "plants remove M-03..M-04"},
	"lines rename":  {"lines rename buff bufftone"},
	"score":         {"score M-01..M-03 form=3 health=sound", "score M-01 form=none", "score M-01 form=5 --on 2026-07-01 --note leggy"},
	"score trait":   {"score trait scent --scale 1..3 --words none,faint,strong --better more", "score trait form --better less"},
	"cross": {"cross M-03 M-04 --heads 2 --on 2026-07-11", "cross M-01..M-03 M-04 --season 2027", "cross M-01 --self --on 2026-07-11",
		"cross M-03 --open --seeds 40 --on 2026-07-11"},
	"cross fix":    {"cross fix X26-001 --pollen M-03 --seeds 8 --note n", "cross fix X26-001 --pollen none --made none"},
	"cross remove": {"cross remove X26-001"},
	"head": {"head M-01 bag --on 2026-07-11", "head M-01-1..2 harvest --seeds 9 --on 2026-08-10", "head M-01-4 bag --on 2026-07-11",
		"head M-01 pollinate --on 2026-07-12", "head M-01-1 bag --on 2026-07-11 && head M-01-1 fix --bagged 2026-07-10 --pollinated 2026-07-12",
		"head M-01-1..3 remove", "head M-01-1 lost --on 2026-07-11 --note eaten", "head M-01-1 dry --on 2026-07-20"},
	"packet make": {"packet make --bought Tall --seeds 50 --on 2026-08-12", "packet make --cross X26-001 --seeds 20 --on 2026-08-12",
		"head M-01-1..2 harvest --seeds 9 --on 2026-08-10 && packet make M-01-1..M-01-2 --place tin --on 2026-08-12"},
	"packet dry": {"packet dry P26-001 --on 2026-08-20"},
	"packet fix": {"packet fix P26-001 --seeds 40 --note n"},
	"packet test": {"packet test P26-001 --seeds 10 --on 2026-09-01",
		"packet test P26-001 --seeds 10 --on 2026-09-01 && packet test P26-001 --sprouted 8 --on 2026-09-11"},
	"packet remove": {"packet remove P26-001"},
	"sow": {"sow P26-001 --seeds 6 --plants 4 --season 2027 --on 2026-09-01", "sow P26-001 --season 2027 --on 2026-09-01 --ids K-1..K-9",
		"sow P26-001 --seeds 6 --on 2026-09-01"},
	"sow up": {"sow P26-001 --seeds 6 --on 2026-09-01 && sow up S26-001 --plants 5",
		"sow P26-001 --seeds 6 --on 2026-09-01 && sow up S26-001 --ids K-1..K-3"},
	"sow remove":     {"sow P26-001 --seeds 6 --on 2026-09-01 && sow remove S26-001"},
	"crops set":      {"crops set calendula ripe=24-30 days=3", "crops set calendula ripe=24-30 && crops set calendula ripe=usual"},
	"crops add":      {"crops add sweet-william ripe=30-40 self=self-fertile", "crops add big --like zinnia sets=4"},
	"crops frost":    {"crops frost 05-15", "crops frost 05-15 && crops frost 05-20"},
	"crops remove":   {"crops add big --like zinnia && crops remove big"},
	"packet out":     {"packet out P26-001 --given --seeds 20 --to Anna --on 2026-08-20"},
	"plants clone":   {"plants clone M-01 --cuttings 3 --season 2027", "plants clone M-01 --by tuber --ids T-1..T-3 --season 2027"},
	"plants place":   {"plants place M-01..M-03 bed~3"},
	"pollen collect": {"pollen collect M-01 --on 2026-07-10 --season 2026"},
	"pollen dry":     {"pollen collect M-01 --on 2026-07-10 --season 2026 && pollen dry L26-001 --on 2026-07-11"},
	"pollen fix":     {"pollen collect M-01 --on 2026-07-10 --season 2026 && pollen fix L26-001 --place jar --until none"},
	"pollen remove":  {"pollen collect M-01 --on 2026-07-10 --season 2026 && pollen remove L26-001"},
	"pollen used":    {"pollen collect M-01 --on 2026-07-10 --season 2026 && pollen used L26-001 --on 2026-07-12"},
	"sow out":        {"sow P26-001 --seeds 6 --on 2026-09-01 && sow out S26-001 --on 2026-09-20"},
	"crops line":     {"crops line buff calendula", "crops line buff calendula && crops line buff cosmos"},
}

// onlyReading are the commands that enter nothing that could be taken back.
var onlyReading = strings.Fields(
	`hueward backup backup_restore check completion crops cross_selfs demo export history lines new packet pairs photos plan
	plants plants_list plants_show pollen rank ratios redo report serve tags today trend undo version`,
)

// Whatever a command entered is one change: undo gives the very rows of before it, redo
// those of after it, and undo then asks before it takes back anything older. Before, what
// was measured or learnt of a camera stayed, and an older note went instead.
func TestUndoOfEveryCommand(t *testing.T) {
	t.Parallel()
	for _, c := range commands(t) {
		name := strings.TrimPrefix(c.CommandPath(), "hueward ")
		if _, ok := entering[name]; !ok && !slices.Contains(onlyReading, strings.ReplaceAll(name, " ", "_")) {
			t.Errorf("%s is neither among those that write nor among those that read", name)
		} else if cli.Enters(c) != ok {
			t.Errorf("%s enters something: %v, but undo takes it that it does: %v", name, ok, !ok)
		}
	}
	model := prepare(t)
	chart := need(examples())(t)
	for _, f := range []string{"chart.jpg", "chart.txt"} {
		b, err := os.ReadFile(filepath.Join(chart, f))
		if err == nil {
			err = os.WriteFile(filepath.Join(model, f), b, 0o600)
		}
		must(t, err)
	}
	for name, lines := range entering {
		for _, line := range lines {
			t.Run(strings.ReplaceAll(line, "/", "_"), func(t *testing.T) {
				t.Parallel()
				if !strings.Contains(line, name) {
					t.Fatalf("it is not one of %s", name)
				}
				undoOne(t, model, line)
			})
		}
	}
}

func undoOne(t *testing.T, model, line string) {
	root := t.TempDir()
	must(t, os.CopyFS(root, os.DirFS(model)))
	do := func(want int, args ...string) string {
		t.Helper()
		status, out, errs := ran(nil, placed(root, append(args, "--book", "@garden"))...)
		if status != want && (want != 0 || status != statusRefused || args[0] != "measure") {
			t.Fatalf("%q: exit status %d, want %d\n%s%s", args, status, want, out, errs)
		}
		return out + errs
	}
	rows := func() map[string][]string {
		t.Helper()
		db := need(sql.Open("sqlite", filepath.Join(root, "garden", book.DBName)+"?_pragma=query_only(1)"))(t)
		defer db.Close()
		db.SetMaxOpenConns(1)
		return booktest.RowsIn(t, db)
	}
	defer func() {
		if err := sqlite.Verify(context.Background(), filepath.Join(root, "garden", book.DBName)); err != nil {
			t.Error(err)
		}
	}()
	steps := strings.Split(line, " && ")
	var before map[string][]string
	for i, step := range steps {
		if i == len(steps)-1 {
			before = rows()
		}
		args := strings.Split(step, " ")
		for k := range args {
			args[k] = strings.ReplaceAll(args[k], "~", " ")
		}
		do(0, args...)
	}
	after := rows()
	if cmp.Equal(before, after) {
		t.Fatal("it changed nothing")
	}
	for again := range 2 {
		do(0, "undo")
		if d := cmp.Diff(before, rows()); d != "" {
			t.Fatalf("taken back (-before +now):\n%s", d)
		}
		if again == 1 && !full { // what was brought back can be taken back, too
			return
		}
		if said := do(1, "undo"); !strings.Contains(said, "hueward undo --yes") {
			t.Errorf("a second undo says %s", said)
		}
		if d := cmp.Diff(before, rows()); d != "" {
			t.Fatalf("an older change went, too (-before +now):\n%s", d)
		}
		do(0, "redo")
		if d := cmp.Diff(after, rows()); d != "" {
			t.Fatalf("brought back (-after +now):\n%s", d)
		}
	}
}
