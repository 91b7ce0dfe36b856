package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

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
			must(t, os.CopyFS(dir, os.DirFS(model)))
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
	b := need(book.Open(t.Context(), filepath.Join(dir, "book"), booktest.Clock))(t)
	defer b.Close()
	for _, id := range []string{"N-01", "N-02", "N-03"} {
		do("cross " + id + " M-02 --heads 2 --season 2026")
		file := filepath.Join(dir, "a.jpg")
		must(t, os.WriteFile(file, []byte(id), 0o600))
		need(b.Record(t.Context(), book.Entry{File: file, Season: "2026", Plant: id, Reading: booktest.Reading(id)}))(t)
	}
	do("score N-01..N-03 habit=3")
	do("packet make --bought thing --seeds 90 --season 2026")
	do("sow P26-001 --seeds 9 --season 2026")
	return dir
}
