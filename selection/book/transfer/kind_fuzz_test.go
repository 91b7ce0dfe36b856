package transfer

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
	"hueward/selection/book/booktest"
	"hueward/selection/book/exchange"
)

// Every kind's rows: no text makes them panic, a mistake has its line, and what
// is read is written so that it is read the same.
func FuzzKindRows(f *testing.F) {
	for i := range kinds {
		f.Add(byte(i), "M-01,2026,2026-07-04,76.2,15,38,0.3,x\n")
		f.Add(byte(i), "\"M-01\";buff;[];{}\nyes,no,1e3,-1\n")
	}
	f.Fuzz(func(t *testing.T, kind byte, text string) {
		k := kinds[int(kind)%len(kinds)]
		var names []string
		for _, c := range k.Columns {
			names = append(names, c.Name)
		}
		read := func(text string) (out [][]any, errs []error) {
			table, err := exchange.NewTable("t.csv", strings.NewReader(strings.Join(names, ",")+"\n"+text), nil, &exchange.Options{Kind: &k.Kind})
			if err != nil {
				t.Fatal(err)
			}
			for {
				row, wrong := table.Next()
				errs = append(errs, wrong...)
				if row == nil {
					return out, errs
				}
				// A row of nothing but white space is blank once it is written again.
				if len(wrong) == 0 && slices.ContainsFunc(row.Values, func(v any) bool { return v != nil }) {
					out = append(out, append([]any(nil), row.Values...))
				}
			}
		}
		rows, errs := read(text)
		for _, err := range errs {
			var e *exchange.Error
			if !errors.As(err, &e) || e.Line < 2 {
				t.Errorf("%q: error %v, want one with its line", text, err)
			}
		}
		var b strings.Builder
		w := exchange.NewWriter(&b)
		for _, row := range rows {
			cells := make([]string, len(row))
			for i, v := range row {
				cells[i] = k.Columns[i].Format(v)
			}
			w.Write(cells)
		}
		must.OK(t, w.Flush())
		again, errs := read(b.String())
		if d := cmp.Diff(rows, again); d != "" || len(errs) > 0 {
			t.Errorf("%q, written as %q: %v (-read +again):\n%s", text, b.String(), errs, d)
		}
	})
}

// No table of any kind makes an import panic, or break what the database checks.
func FuzzImport(f *testing.F) {
	b := booktest.Filled(f)
	for i, k := range kinds {
		f.Add(byte(i), strings.Join(k.Need, ",")+"\nM-1,marigold,2026,1,2,3\n")
	}
	f.Add(byte(6), "plant,line,season,seed_parent,form\nA,l,2026,B,4\nB,l,2026,A,double\n")
	f.Add(byte(15), "plant,season,date,L,a,b,se,source\nM-1,2026,2026-07-04,76.2,15,38,0.3,x\n")
	sum := strings.Repeat("0a", 32)
	f.Add(byte(14), "sha256,plant,season,path,bytes,width\n"+sum+",M-1,2026,photos/2026/a.jpg,1,2\n")
	f.Add(byte(15), "plant,L,a,b,source,photo,status,reason,outline,flags,tag\nM-1,,,,photo,"+sum+",refused,x,\"\"\"M1 2h3z\"\"\",[],{}\n")
	f.Add(byte(8), "head,season,pollinated\nM-1-1,2026,2026-07-04 2026-07-05\n")
	f.Add(byte(4), "crop,title,base\naster,,\n")
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, kind byte, text string) {
		file := filepath.Join(dir, "t.csv")
		must.OK(t, os.WriteFile(file, []byte(text), 0o666))
		for _, update := range []bool{false, true} {
			_, err := Import(context.Background(), b, []string{file}, &ImportOptions{As: kinds[int(kind)%len(kinds)].Name, Update: update,
				DryRun: true})
			var wrong *ImportError
			if err != nil && !errors.As(err, &wrong) {
				t.Errorf("%q: %v", text, err)
			}
		}
	})
}
