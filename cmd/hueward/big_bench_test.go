package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// BenchmarkBigBook runs listings on twenty seasons of a large garden: 40 000 plants with
// their parents, 100 000 readings, a season's open heads. The output is thrown away.
func BenchmarkBigBook(b *testing.B) {
	dir := b.TempDir()
	hueward := func(b *testing.B, args ...string) {
		b.Helper()
		var errs strings.Builder
		if status := run(b.Context(), args, strings.NewReader(""), io.Discard, &errs, append(plainEnviron(),
			"HUEWARD_BOOK="+filepath.Join(dir, "book"))); status != statusDone {
			b.Fatalf("%v: status %d: %s", args, status, errs.String())
		}
	}
	const seasons, each = 20, 2000
	var plants, readings, heads strings.Builder
	plants.WriteString("plant,line,season,seed_parent,pollen_parent\n")
	readings.WriteString("plant,season,date,L,a,b,se,source\n")
	heads.WriteString("head,plant,season,bagged,pollinated\n")
	name := func(s, i int) string { return fmt.Sprintf("P%02d-%04d", s, i) }
	for s := range seasons {
		year := 2007 + s
		for i := range each {
			seed, pollen := "", ""
			if s > 0 {
				seed, pollen = name(s-1, i*7%40), name(s-1, 40+i*11%40)
			}
			fmt.Fprintf(&plants, "%s,buff,%d,%s,%s\n", name(s, i), year, seed, pollen)
			for k := range 2 + i%2 {
				fmt.Fprintf(&readings, "%s,%d,%d-07-%02d,%.1f,%.1f,%.1f,0.4,colorimeter\n", name(s, i), year, year, 3+k, 70+float64(i%90)/9,
					12+float64(i%77)/9, 40+float64(i%59)/3)
			}
		}
	}
	for i := range 60 {
		fmt.Fprintf(&heads, "%s-1,%[1]s,2026,2026-07-%02d,2026-07-%02d\n", name(seasons-1, i), 1+i%5, 8+i%5)
	}
	files := []string{"import"}
	for file, text := range map[string]string{"plants.csv": plants.String(), "readings.csv": readings.String(), "heads.csv": heads.String()} {
		file = filepath.Join(dir, file)
		must(b, os.WriteFile(file, []byte(text), 0o666))
		files = append(files, file)
	}
	hueward(b, "new", filepath.Join(dir, "book"), "--line", "buff")
	hueward(b, files...)
	for _, args := range [][]string{{"plants"}, {"plants", "--season", "all"}, {"today", "--on", "2026-07-20"}} {
		b.Run(strings.Join(args, " "), func(b *testing.B) {
			for b.Loop() {
				hueward(b, args...)
			}
		})
	}
}
