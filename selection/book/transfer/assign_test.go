package transfer

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book/exchange"

	"github.com/google/go-cmp/cmp"
)

func TestReadAssignments(t *testing.T) {
	t.Parallel()
	bloom, card := &[2]float64{1200.5, 900}, &[4]float64{10, 20, 300, 200}
	for _, c := range []struct {
		name, text string
		want       []Assignment
	}{
		{"plain", "file,plant\na.jpg,M-1\nb.jpg,M-2\n", []Assignment{{"a.jpg", "M-1", nil, nil, 2}, {"b.jpg", "M-2", nil, nil, 3}}},
		{"header only", "file,plant", []Assignment{}},
		{"byte order mark, CRLF, other order and case", "\ufeffPlant, File\r\nM-1,a.jpg\r\n", []Assignment{{"a.jpg", "M-1", nil, nil, 2}}},
		{"semicolons, decimal commas", "file;plant;bloom_x;bloom_y\na.jpg;M-1;1200,5;900\n", []Assignment{{"a.jpg", "M-1", bloom, nil, 2}}},
		{"tabs", "file\tplant\na, b.jpg\tM-1\n", []Assignment{{"a, b.jpg", "M-1", nil, nil, 2}}},
		{"quotes, all columns, blank rows", "file,plant,bloom_x,bloom_y,card_x,card_y,card_w,card_h,note\n\n\"a, " +
			"b.jpg\",M-1,\"1200,5\",900,10,20,300,200,\"two\nlines\"\n,,,,,,,,\nc.jpg,M-2,,,,,,\n",
			[]Assignment{{"a, b.jpg", "M-1", bloom, card, 3}, {"c.jpg", "M-2", nil, nil, 6}}},
	} {
		got, err := ReadAssignments("l.csv", strings.NewReader(c.text))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
}

func TestReadAssignmentsErrors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, want string }{
		{"", "line 1: the table is empty; its first line must name the columns"},
		{"photo,plant\n", `line 1, column "file": is missing; lists of photos have the columns file,plant,bloom_x`},
		{"a.jpg,M-1\n", `line 1, column "file": is missing; lists of photos have the columns file,plant,bloom_x`},
		{"file,plant,Plant\n", `line 1, column "Plant": named twice`},
		{"file,plant,bloom_x\n", `line 1, column "bloom_y": is missing; give all of its group or none`},
		{"file,plant\n,M-1\n", `line 2, column "file": is empty`},
		{"file,plant\na.jpg\n", `line 2, column "plant": is empty`},
		{"file,plant\na.jpg,../x\n", `line 2, column "plant": "../x" is not a usable name; use letters and digits, with - _ . between ` +
			`them, up to 40 characters`},
		{"file,plant\na,b.jpg,M-1\n", "line 2: 3 fields, but the first line names 2 columns; put a field with the separator in it in quotes"},
		{"file,plant,bloom_x,bloom_y\na.jpg,M-1,left,3\n", `line 2, column "bloom_x": "left" is not a number`},
		{"file,plant,bloom_x,bloom_y\na.jpg,M-1,NaN,3\n", `line 2, column "bloom_x": "NaN" is not a number`},
		{"file,plant,bloom_x,bloom_y\na.jpg,M-1,3,\n", `line 2, column "bloom_y": is empty; give all of its group or none`},
		{"file,plant,card_x,card_y,card_w,card_h\na.jpg,M-1,1,1,0,5\n", `line 2, column "card_w": the card's width and height: 0 is not above 0`},
		{"file,plant\na.jpg,M-1\n\na.jpg,M-2\n", `line 4, column "plant": photo "a.jpg" shows plant "M-2", but plant "M-1" in line 2`},
		{"file,plant\na.jpg,M-1\n./a.jpg,M-1\n", `line 3, column "file": photo "./a.jpg" is in line 2 already`},
		{"file,plant\n\"a.jpg,M-1\n", `line 2: a quote " without its partner`},
		{"file,plant\na\"b.jpg,M-1\n", `line 2: a quote " inside a field that is not in quotes; put the field in quotes and double the ` +
			`inner one`},
	} {
		got, err := ReadAssignments("l.csv", strings.NewReader(c.text))
		var te *exchange.Error
		if got != nil || !errors.As(err, &te) || !strings.HasPrefix(err.Error(), "l.csv: "+c.want) {
			t.Errorf("ReadAssignments(%q) = %v, %q\nwant %q", c.text, got, err, c.want)
		}
	}
}

// A table never makes the reader fail other than by a exchange.Error, and what was
// read, written out again, reads the same.
func FuzzReadAssignments(f *testing.F) {
	seeds, err := filepath.Glob("testdata/assign/*.csv")
	if err != nil || len(seeds) == 0 {
		f.Fatalf("no tables in testdata/assign: %v", err)
	}
	for _, s := range seeds {
		text := must.Have(os.ReadFile(s))(f)
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		as, err := ReadAssignments("l.csv", strings.NewReader(text))
		if err != nil {
			var te *exchange.Error
			if !errors.As(err, &te) || te.Line < 1 || te.Reason == "" {
				t.Fatalf("error %q has no place", err)
			}
			return
		}
		var out strings.Builder
		w := csv.NewWriter(&out)
		w.Write([]string{"file", "plant", "bloom_x", "bloom_y", "card_x", "card_y", "card_w", "card_h"})
		num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
		for _, a := range as {
			row := []string{a.File, a.Plant, "", "", "", "", "", ""}
			if a.Bloom != nil {
				row[2], row[3] = num(a.Bloom[0]), num(a.Bloom[1])
			}
			if a.Card != nil {
				for i, v := range a.Card {
					row[4+i] = num(v)
				}
			}
			w.Write(row)
		}
		w.Flush()
		again, err := ReadAssignments("l.csv", strings.NewReader(out.String()))
		if err != nil {
			t.Fatalf("%v, reading what was written:\n%s", err, out.String())
		}
		for i := range again {
			again[i].Line = as[i].Line
		}
		if d := cmp.Diff(as, again); d != "" {
			t.Fatalf("written and read again (-first +again):\n%s", d)
		}
	})
}
