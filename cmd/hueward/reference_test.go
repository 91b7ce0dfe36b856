package main

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"hueward/colorimg"
	"hueward/colorimg/camera"
	"hueward/colorimg/must"
	"hueward/selection"
	"hueward/selection/trend"
)

// A section is one of reference.md, below a heading such as "## `rank --json`".
type section struct {
	keys   map[string]string // of JSON, with their types
	header string            // of CSV, the line of columns
}

// readReference reads the sections of reference.md by their headings.
func readReference(t *testing.T) map[string]*section {
	t.Helper()
	b := must.Have(os.ReadFile("reference.md"))(t)
	quoted := regexp.MustCompile("`([^`]+)`")
	all := map[string]*section{}
	now := &section{}
	for line := range strings.Lines(string(b)) {
		line = strings.TrimSpace(line)
		if name, ok := strings.CutPrefix(line, "## `"); ok {
			now = &section{keys: map[string]string{}}
			all[strings.TrimSuffix(name, "`")] = now
		}
		cells := strings.Split(line, "|")
		switch {
		case len(cells) > 3:
			for _, m := range quoted.FindAllStringSubmatch(cells[1], -1) {
				if _, ok := now.keys[m[1]]; ok {
					t.Errorf("reference.md: the key %s stands twice", m[1])
				}
				now.keys[m[1]] = cells[2]
			}
		case regexp.MustCompile(`^\w+(,\w+)+$`).MatchString(line):
			now.header = line
		}
	}
	as := regexp.MustCompile("as `([^`]+)`(?: of `([^`]+)`)?")
	for _, s := range all {
		for key, typ := range maps.Clone(s.keys) {
			if m := as.FindStringSubmatch(typ); m != nil {
				from := s
				if m[2] != "" {
					from = all[m[2]]
				}
				for k, typ := range maps.Clone(from.keys) {
					if rest, ok := strings.CutPrefix(k, m[1]+"."); ok {
						s.keys[key+"."+rest] = typ
						if as.MatchString(typ) { // model.candidates.error
							for _, name := range []string{"mean", "median", "rms", "worst"} {
								s.keys[key+"."+rest+"."+name] = "number"
							}
						}
					}
				}
			}
		}
	}
	return all
}

// keysOf adds to keys those of v and of the objects in it, with the kinds of their values:
// "petal.share", of an array's items "colours.lab".
func keysOf(v any, at string, keys map[string][]string) {
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			keysOf(x, at, keys)
		}
	case map[string]any:
		for k, x := range v {
			if is := kind(x); !slices.Contains(keys[at+k], is) {
				keys[at+k] = append(keys[at+k], is)
			}
			keysOf(x, at+k+".", keys)
		}
	}
}

// fieldsOf does the same by the fields of a struct; it adds no kinds.
func fieldsOf(typ reflect.Type, at string, keys map[string][]string) {
	switch typ.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array:
		fieldsOf(typ.Elem(), at, keys)
	case reflect.Struct:
		for i := range typ.NumField() {
			f := typ.Field(i)
			if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" && name != "-" {
				if _, ok := keys[at+name]; !ok {
					keys[at+name] = nil
				}
				fieldsOf(f.Type, at+name+".", keys)
			}
		}
	}
}

// A referenceRun prints what two sections of the reference describe.
type referenceRun struct {
	section, args string
	lineBook      bool // in the book of a line of two seasons, not in that of the examples
	// Below at, what is printed may lack keys that another book's would have: the struct tells.
	at  string
	all any
}

var referenceRuns = []referenceRun{
	{section: "measure", args: "measure photo.jpg --no-book", all: colorimg.Reading{}},
	{section: "photos", args: "photos --all"},
	{section: "camera PHOTO", args: "camera chart.jpg --patches chart.txt", at: "model.left_out.", all: camera.LeftOut{}},
	{section: "camera", args: "camera", at: "model.left_out.", all: camera.LeftOut{}}, // after the one before
	{section: "target", args: "target"},
	{section: "rank", args: "rank", lineBook: true, all: selection.RankJSON{}},
	{section: "pairs", args: "pairs", lineBook: true, all: selection.PairsJSON{}},
	{section: "plan", args: "plan --choices 10:2 --seasons 2", lineBook: true, all: selection.PlanJSON{}},
	{section: "trend", args: "trend", lineBook: true, all: trend.JSON{}},
	{section: "ratios", lineBook: true,
		args: "ratios --of A-01,B-02 --ratio 3:1 --class orange=C-01,C-02,C-03 --class cream=C-04,C-05"},
	{section: "plants", args: "plants"},
	{section: "lines", args: "lines"},
	{section: "plants founders", args: "plants founders"},
	{section: "score", args: "score"},
	{section: "score trait", args: "score trait"},
	{section: "cross", args: "cross --season 2026"},
	{section: "cross selfs", args: "cross selfs"},
	{section: "pollen", args: "pollen"},
	{section: "head", args: "head --season 2026"},
	{section: "packet", args: "packet"},
	{section: "sow", args: "sow"},
	{section: "today", args: "today --on 2026-07-08"},
	{section: "crops", args: "crops"},
	{section: "crops CROP", args: "crops calendula"},
	{section: "history", args: "history"},
	{section: "check", args: "check"},
	{section: "backup --list", args: "backup --list"},
}

// TestReference holds reference.md to what the commands print, in both directions: it has
// all keys and columns that there are, and no others.
func TestReference(t *testing.T) {
	sections := readReference(t)
	for _, c := range commands(t) {
		_, args, _ := strings.Cut(c.CommandPath(), " ")
		if f := c.Flags(); f.Lookup("json") != nil && f.Lookup("csv") != nil {
			args = strings.TrimSuffix(args, " list") // "plants list" is "plants"
			if !slices.ContainsFunc(referenceRuns, func(r referenceRun) bool {
				return strings.HasPrefix(r.section+" --", args+" --")
			}) {
				t.Errorf("%s has --json, but nothing here runs it", c.CommandPath())
			}
		}
	}
	dir := exampleFolder(t)
	book, lineBook := filepath.Join(dir, "book"), referenceLine(t, dir)
	t.Chdir(dir)
	for _, line := range []string{
		"score M-07 form=3", "pollen collect M-07 --on 2026-07-02", "packet make M-07-1 --on 2026-08-20", "packet test P26-001 --seeds 20",
		"packet out P26-001 --given --seeds 1",
		"backup",
	} {
		hueward(t, statusDone, append(strings.Fields(line), "--book", book)...)
	}
	must.OK(t, os.WriteFile(filepath.Join(book, "photos", "stray.txt"), nil, 0o666)) // for check to find
	for _, r := range referenceRuns {
		args := append(strings.Fields(r.args), "--book", book)
		if r.lineBook {
			args[len(args)-1] = lineBook
		}
		run := func(how string) string {
			out, _ := hueward(t, statusDone, append(args, how)...)
			return out
		}
		asJSON, asCSV := sections[r.section+" --json"], sections[r.section+" --csv"]
		if asJSON == nil || asCSV == nil {
			t.Errorf("reference.md has no section %q --json, or none --csv", r.section)
			continue
		}
		delete(sections, r.section+" --json")
		delete(sections, r.section+" --csv")

		var v any
		keys := map[string][]string{}
		if err := json.Unmarshal([]byte(run("--json")), &v); err != nil {
			t.Fatalf("%s --json: %v", r.section, err)
		}
		keysOf(v, "", keys)
		header, _, _ := strings.Cut(run("--csv"), "\n")
		if len(keys) == 0 { // an empty list: its items' keys are its columns
			for _, k := range strings.Split(header, ",") {
				keys[k] = nil
			}
		}
		if r.all != nil {
			fieldsOf(reflect.TypeOf(r.all), r.at, keys)
		}
		for k, kinds := range keys {
			typ, ok := asJSON.keys[k]
			if !ok {
				t.Errorf("%s --json may print the key %s, which reference.md lacks", r.section, k)
				continue
			}
			for _, kind := range kinds {
				if kind[0] == '[' {
					kind = "["
				}
				if !strings.Contains(strings.Replace(typ, "array", "[", 1), kind) && !strings.Contains(typ, "as `") {
					t.Errorf("%s --json prints %s as %s, and reference.md has %s", r.section, k, kind, typ)
				}
			}
		}
		for k := range asJSON.keys {
			if _, ok := keys[k]; !ok {
				t.Errorf("reference.md has the key %s of %s --json, which is never printed", k, r.section)
			}
		}
		if header != asCSV.header {
			t.Errorf("%s --csv prints the columns\n%s\nreference.md has\n%s", r.section, header, asCSV.header)
		}
	}
	for name := range sections {
		t.Errorf("reference.md has a section %q, which is of no command here", name)
	}
}

// referenceLine makes a book of a line's first two seasons in dir, from the tables of a script.
func referenceLine(t *testing.T, dir string) string {
	t.Helper()
	a := must.Have(txtar.ParseFile("testdata/script/selection.txtar"))(t)
	book := filepath.Join(dir, "line")
	hueward(t, statusDone, "new", book, "--line", "buff apricot", "--season", "2024")
	hueward(t, statusDone, "target", "buff apricot", "--lab", "76,14,38", "--book", book)
	tables := []string{"import", "--book", book}
	for _, f := range a.Files {
		if f.Name != "plants.csv" && f.Name != "readings.csv" {
			continue
		}
		var rows strings.Builder
		for line := range strings.Lines(string(f.Data)) {
			if rows.Len() == 0 || strings.ContainsAny(line[:1], "ABC") {
				rows.WriteString(line)
			}
		}
		file := filepath.Join(dir, "line-"+f.Name)
		must.OK(t, os.WriteFile(file, []byte(rows.String()), 0o666))
		tables = append(tables, file)
	}
	hueward(t, statusDone, tables...)
	return book
}
