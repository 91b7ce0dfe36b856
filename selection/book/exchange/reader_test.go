package exchange

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// readAll reads all rows as text.
func readAll(text string) ([][]string, error) {
	r := NewReader("t.csv", strings.NewReader(text))
	var out [][]string
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return out, err
		}
		var cells []string
		for _, f := range row {
			cells = append(cells, f.Text)
		}
		out = append(out, cells)
	}
}

func TestReader(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text string
		want       [][]string
	}{
		// RFC 4180, section 2, rules 1 to 7.
		{"rule 1", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"rule 2, no last line end", "aaa,bbb,ccc\r\nzzz,yyy,xxx", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"rule 5", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"rule 6", "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", [][]string{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"rule 7", "\"aaa\",\"b\"\"bb\",\"ccc\"", [][]string{{"aaa", "b\"bb", "ccc"}}},
		// What spreadsheets of other countries write: common practice, no source.
		{"byte order mark", "\ufeffa,b\n1,2\n", [][]string{{"a", "b"}, {"1", "2"}}},
		{"semicolons", "a;b\n1,5;2\n", [][]string{{"a", "b"}, {"1,5", "2"}}},
		{"tabs", "a\tb\n1,5\t\n", [][]string{{"a", "b"}, {"1,5", ""}}},
		{"separator told", "sep=;\r\na,b;c\r\n1;2\r\n", [][]string{{"a,b", "c"}, {"1", "2"}}},
		{"separators in quotes do not count", "\"x;y;z\",b\n1,2\n", [][]string{{"x;y;z", "b"}, {"1", "2"}}},
		{"spaces", " a , b \n  \" x \"  ,\t y\t\n", [][]string{{"a", "b"}, {" x ", "y"}}},
		{"blank rows", "\n\na,b\n\n , \n,\n1,2\n\n", [][]string{{"a", "b"}, {"1", "2"}}},
		{"UTF-16, as Unicode text is saved", "\xff\xfea\x00\t\x00b\x00\r\x00\n\x00\xfc\x00\t\x00\x3c\xd8\x3c\xdf\r\x00\n\x00",
			[][]string{{"a", "b"}, {"ü", "\U0001f33c"}}},
		{"UTF-16, the other way", "\xfe\xff\x00a\x00;\x00b\x00\n\x001\x00;\x00\xfc", [][]string{{"a", "b"}, {"1", "ü"}}},
		{"one column", "a\n1\n\n2", [][]string{{"a"}, {"1"}, {"2"}}},
		{"nothing", "", nil},
	} {
		got, err := readAll(c.text)
		if d := cmp.Diff(c.want, got); d != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", c.name, err, d)
		}
	}
}

func TestReaderErrors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text, want string
	}{
		{"open quote", "a,b\n1,\"2\n3,4\n", "t.csv: line 2: a quote \" without its partner"},
		{"after a told separator", "sep=,\na,b\n1,\"2", "t.csv: line 3: a quote"},
		{"bare quote", "a,b\n\"x\ny\",2\n5\",4\n", "t.csv: line 4: a quote \" inside a field"},
		{"after a quote", "a,b\n\"1\"x,2\n", "t.csv: line 2: text after a closing quote"},
		{"Latin-1", "a,b\nbl\xfcte,2\n", `t.csv: line 2: is not UTF-8 after "bl"; save the file as "CSV UTF-8"`},
		{"zero", "a,b\nblu\x00te,2\n", `t.csv: line 2: holds a zero byte after "blu"; take it out`},
		{"UTF-16", "a\x00,\x00b\x00\n\x00", `t.csv: line 1: holds a zero byte; save the file as "CSV UTF-8"`},
		{"half a character", "\xff\xfea\x00,\x00b\x00\n\x001\x00,\x002\x00\n", "t.csv: line 2: is damaged UTF-16"},
		{"workbook", "PK\x03\x04\x14\x00", "t.csv: line 1: holds a spreadsheet's workbook or another archive, not a table as text; "},
		{"old workbook", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "t.csv: line 1: holds an old workbook, not"},
		{"web page named as a workbook", "\n <HTML><table>", "t.csv: line 1: holds a web page or XML, not"},
		{"carriage return alone", "a,b\r1,2\r", `t.csv: line 1: a carriage return inside a field`},
		{"long field", "a,b\n" + strings.Repeat("x", MaxField+1) + ",2\n", "t.csv: line 2: field 1 is longer than 1 MiB"},
		{"long line", "a,b\n" + strings.Repeat("x,", MaxRecord/2+1), "t.csv: line 2: is longer than 16 MiB"},
		{"never closed", "a,b\n\"" + strings.Repeat("x\n", MaxRecord/2+1), "t.csv: line 2: a quote \" without its partner within 16 MiB"},
		{"many fields", strings.Repeat(",", 1001), "t.csv: line 1: more than 1000 fields"},
	} {
		_, err := readAll(c.text)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: error %.200v, want %s", c.name, err, c.want)
		}
	}
}

// Whatever text is written comes back.
func TestWriterReader(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "columns")
		text := rapid.OneOf(rapid.StringMatching("[ \\t\"',;=+@a\\r\\n-]{0,6}"), rapid.String())
		rows := rapid.SliceOfN(rapid.SliceOfN(text, n, n), 1, 5).Draw(t, "rows")
		var b strings.Builder
		w := NewWriter(&b)
		// The first line tells the separator.
		head := make([]string, n)
		for i := range head {
			head[i] = string(rune('a' + i))
		}
		w.Write(head)
		want := [][]string{head}
		for _, row := range rows {
			for i := range row {
				row[i] = strings.ReplaceAll(strings.ToValidUTF8(row[i], "?"), "\x00", "0")
			}
			w.Write(row)
			if strings.Join(row, "") != "" { // else it is blank
				want = append(want, row)
			}
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		got, err := readAll(b.String())
		if d := cmp.Diff(want, got); d != "" || err != nil {
			t.Fatalf("%q: %v (-written +read):\n%s", b.String(), err, d)
		}
		// Another reader agrees; it drops a carriage return before a line feed.
		if strings.Contains(b.String(), "\r") {
			return
		}
		c := csv.NewReader(strings.NewReader(b.String()))
		other, err := c.ReadAll()
		if err != nil {
			t.Fatalf("encoding/csv: %q: %v", b.String(), err)
		}
		for i := len(other) - 1; i >= 0; i-- {
			if strings.Join(other[i], "") == "" {
				other = append(other[:i], other[i+1:]...)
			}
		}
		if d := cmp.Diff(want, other); d != "" {
			t.Fatalf("encoding/csv: %q (-written +read):\n%s", b.String(), d)
		}
	})
}

// What is read can be written and is then read the same; errors have a line.
func FuzzReader(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "\ufeffa;b\r\n\"1\r\n\";2,5", "\"a\"\"\",b\n", "a\tb\n\"", "x\xff\n", "\x00", ",\n\r\n\"\"\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := readAll(text)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Line < 1 || e.Line > strings.Count(text, "\n")+1 || !utf8.ValidString(e.Error()) {
				t.Errorf("%q: error %v, want one with its line", text, err)
			}
		}
		if len(rows) == 0 {
			return
		}
		var b strings.Builder
		w := NewWriter(&b)
		head := make([]string, len(rows[0]))
		for i := range head {
			head[i] = "c" // so that commas separate
		}
		head = append(head, "", "")
		w.Write(head)
		for _, r := range rows {
			w.Write(r)
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		again, err := readAll(b.String())
		if err != nil {
			t.Fatalf("%q, written as %q: %v", text, b.String(), err)
		}
		if d := cmp.Diff(rows, again[1:]); d != "" {
			t.Errorf("%q, written as %q (-read +again):\n%s", text, b.String(), d)
		}
	})
}
