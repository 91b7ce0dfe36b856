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
	"hueward/colorimg/must"
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
	model := copyWorld(t, must.Have(model())(t))
	chart := must.Have(examples())(t)
	for _, f := range []string{"chart.jpg", "chart.txt"} {
		must.OK(t, os.WriteFile(filepath.Join(model, f), must.Have(os.ReadFile(filepath.Join(chart, f)))(t), 0o600))
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
	root := copyWorld(t, model)
	do := func(want int, args ...string) string {
		t.Helper()
		status, out, errs := ran(nil, placed(root, append(args, "--book", "@garden"))...)
		if status != want && (want != 0 || status != statusRefused || args[0] != "measure") {
			t.Fatalf("%q: exit status %d, want %d\n%s%s", args, status, want, out, errs)
		}
		return out + errs
	}
	db := must.Have(sql.Open("sqlite", filepath.Join(root, "garden", book.DBName)+"?_pragma=query_only(1)"))(t)
	db.SetMaxOpenConns(1)
	rows := func() map[string][]string {
		t.Helper()
		return booktest.RowsIn(t, db)
	}
	defer func() {
		db.Close()
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
		if again == 1 && !full {
			return
		}
		do(0, "undo") // what was brought back can be taken back, too
		if d := cmp.Diff(before, rows()); d != "" {
			t.Fatalf("taken back (-before +now):\n%s", d)
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

// Wherever a command names plants, a range of them may stand: it means each of them, or,
// where only one can be meant, is an error that says so, and changes nothing. Before,
// notes, parents, crosses, heads, filters and sheets took a range for its first plant, for
// one plant of that name, or for none.
func TestRanges(t *testing.T) {
	t.Parallel()
	model := rangesBook(t)
	const all = "\x00all" // each of the three is named in what is printed
	for args, want := range map[string]string{
		"plants add R-01..R-03 --line buff":                           "3 plants added",
		"plants note N-01..N-03 sturdy":                               "",
		"plants keep N-01..N-03":                                      all,
		"plants drop N-01..N-03":                                      all,
		"plants parents N-01..N-03 M-01 M-02":                         all,
		"plants parents M-01 N-01..N-03 M-02":                         "!one",
		"plants parents M-01 M-02 N-01..N-03":                         "!one",
		"plants founders bought N-01..N-03":                           "3 plants",
		"plants rename N-01..N-03 X-1":                                "!one",
		"plants rename M-01 N-11..N-13":                               "!one",
		"plants merge N-01..N-03 M-01":                                "!one",
		"plants merge M-01 N-01..N-03":                                "!one",
		"plants move N-01..N-03 --to buff":                            all,
		"plants place N-01..N-03 bed":                                 all,
		"plants clone N-01..N-03 --cuttings 1 --season 2027":          "!one",
		"plants clone M-01 --by tuber --ids R-01..R-03 --season 2027": "R-03",
		"plants show N-01..N-03":                                      "!one",
		"pollen collect N-01..N-03 --season 2026":                     "!one",
		"plants remove K-01..K-03":                                    "K-03 taken out",
		"score N-01..N-03 form=4":                                     all,
		"score --plant N-01..N-03 --csv":                              all,
		"cross N-01..N-03 M-01":                                       all,
		"cross M-01 N-01..N-03":                                       all,
		"cross N-01..N-03 --self":                                     all,
		"cross fix X26-001 --pollen N-01..N-03":                       "!one",
		"head N-01..N-03 pollinate":                                   all,
		"head N-01-1..2 pollinate":                                    "N-01-1",
		"head N-01..N-03 remove":                                      all,
		"head --plant N-01..N-03 --csv":                               all,
		"head --plant N-01..03 --csv":                                 all,
		"photos --plant N-01..N-03 --csv":                             all,
		"photos assign N-01..N-03 1":                                  "!one",
		"measure a.jpg --plant N-01..N-03":                            "!one",
		"sow P26-001 --seeds 9 --ids R-01..R-03":                      "3 plants",
		"sow up S26-001 --ids R-01..R-03":                             "3 plants",
		"tags N-01..N-03":                                             "3 labels",
		"tags N-01..N-03 --heads":                                     "6 labels",
		"tags N-01..N-03 --photo-sheet a5":                            "",
		"ratios N-01..N-03":                                           all,
		"ratios --of N-01..N-03":                                      "!3 plants",
		"ratios --of N-01..N-02":                                      "!N-01",
		"pairs --among N-01..N-03":                                    all,
	} {
		t.Run(strings.ReplaceAll(args, "/", "_"), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			must.OK(t, os.CopyFS(dir, os.DirFS(model)))
			status, out, errs := runIn(dir, args)
			said, fails := strings.CutPrefix(want, "!")
			switch {
			case fails && (status == 0 || status == 3 || !strings.Contains(errs, said)):
				t.Errorf("status %d, %s%s; want it refused with %q", status, out, errs, said)
			case !fails && status != 0:
				t.Errorf("status %d: %s", status, errs)
			case want == all:
				for _, id := range []string{"N-01", "N-02", "N-03"} {
					if !strings.Contains(out, id) {
						t.Errorf("%s is not in:\n%s%s", id, out, errs)
					}
				}
			case !fails && !strings.Contains(out, want):
				t.Errorf("%q is not in:\n%s%s", want, out, errs)
			}
			if _, plants, _ := runIn(dir, "plants --season all --csv"); strings.Contains(plants, "..") {
				t.Errorf("a plant is called as the range:\n%s", plants)
			}
			if status, notes, _ := runIn(dir, "plants --season all --csv"); strings.HasPrefix(args, "plants note") && (status != 0 ||
				strings.Count(notes, ",sturdy") != 3) {
				t.Errorf("the notes are on\n%s", notes)
			}
		})
	}
}

// runIn runs a command line on the book in dir.
func runIn(dir, args string) (status int, out, errs string) {
	list := append(strings.Fields(args), "--book", filepath.Join(dir, "book"))
	for i, arg := range list {
		if arg == "a.jpg" {
			list[i] = filepath.Join(dir, arg)
		}
	}
	if strings.HasPrefix(args, "tags ") {
		list = append(list, "-o", filepath.Join(dir, "out.pdf"))
	}
	return ran(nil, list...)
}

// rangesBook is a book with the plants N-01 to N-03, a photo of each and two heads on
// each, a packet and a sowing.
func rangesBook(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	do := func(args string) {
		t.Helper()
		if status, _, errs := runIn(dir, args); status != 0 {
			t.Fatalf("%s: %s", args, errs)
		}
	}
	do("new " + filepath.Join(dir, "book") + " --line buff")
	do("target buff --lab 76,14,38")
	do("plants add N-01..N-03 K-01..K-03 M-01 M-02 --season 2026")
	b := must.Have(book.Open(t.Context(), filepath.Join(dir, "book"), booktest.Clock))(t)
	defer b.Close()
	for _, id := range []string{"N-01", "N-02", "N-03"} {
		do("cross " + id + " M-02 --heads 2 --season 2026")
		file := filepath.Join(dir, "a.jpg")
		must.OK(t, os.WriteFile(file, []byte(id), 0o600))
		must.Have(b.Record(t.Context(), book.Entry{File: file, Season: "2026", Plant: id, Reading: booktest.Reading(id)}))(t)
	}
	do("score N-01..N-03 habit=3")
	do("packet make --bought thing --seeds 90 --season 2026")
	do("sow P26-001 --seeds 9 --season 2026")
	return dir
}
