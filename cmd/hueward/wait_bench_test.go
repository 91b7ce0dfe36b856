//go:build unix

package main

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"
	"testing"
	"time"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// builtNow is hueward built, as a grower runs it.
func builtNow(b *testing.B) string {
	b.Helper()
	name := filepath.Join(b.TempDir(), "hueward")
	if msg, err := exec.Command("go", "build", "-o", name, ".").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, msg)
	}
	return name
}

// cost is what one run of a program took.
type cost struct {
	wall, cpu time.Duration
	resident  float64 // at most, MiB
}

// costOf runs the program; statuses 0 and 3 are good.
func costOf(b *testing.B, env []string, name string, args ...string) cost {
	b.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(plainEnviron(), env...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	// On Linux a child's most memory begins at its parent's, which has drawn photos.
	debug.FreeOSMemory()
	os.WriteFile("/proc/self/clear_refs", []byte("5"), 0)
	start := time.Now()
	err := cmd.Run()
	c := cost{wall: time.Since(start)}
	if s := cmd.ProcessState; s == nil || s.ExitCode() != statusDone && s.ExitCode() != statusRefused {
		b.Fatalf("%q: %v\n%s", args, err, errs.String())
	}
	c.cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	kib := float64(cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
	if runtime.GOOS == "darwin" {
		kib /= 1024 // it counts bytes
	}
	c.resident = kib / 1024
	return c
}

// BenchmarkListing is each listing from cold, a process of its own each time, on the demo's book (or that of HUEWARD_BOOK):
// the least wall and processor time of all its runs, since other programs only add to it.
func BenchmarkListing(b *testing.B) {
	exe, book := builtNow(b), os.Getenv("HUEWARD_BOOK")
	if book == "" {
		dir := filepath.Join(b.TempDir(), "demo")
		costOf(b, nil, exe, "demo", dir)
		book = filepath.Join(dir, "book")
	}
	const line = "buff apricot"
	for _, args := range [][]string{{"version"}, {"rank", line}, {"pairs", line}, {"plan", line}, {"trend", line}, {"target", line},
		{"plants"}, {"photos"},
		{"today"}, {"packet"}, {"head"}, {"history"}, {"crops"}} {
		b.Run(args[0], func(b *testing.B) {
			least := costOf(b, []string{"HUEWARD_BOOK=" + book}, exe, args...)
			for b.Loop() {
				c := costOf(b, []string{"HUEWARD_BOOK=" + book}, exe, args...)
				least.wall, least.cpu = min(least.wall, c.wall), min(least.cpu, c.cpu)
			}
			b.ReportMetric(least.wall.Seconds()*1000, "least-ms")
			b.ReportMetric(least.cpu.Seconds()*1000, "least-cpu-ms")
		})
	}
}

// BenchmarkBatch measures 10, 100 and 1 000 photos of 12 megapixels in one run: the time for one, that as a multiple of what
// image/jpeg alone takes to decode it, how many times as fast two cores are as one, and the most memory.
func BenchmarkBatch(b *testing.B) {
	exe, dir := builtNow(b), b.TempDir()
	first := filepath.Join(dir, "first.jpg")
	s := render.Scene{Width: 4000, Height: 3000, Petal: cie.Lab{L: 76, A: 15, B: 39}, EV: -0.5, Seed: 1}
	must.Have(drawFile(first, s, photo.Info{}))(b)
	data := must.Have(os.ReadFile(first))(b)
	decode := time.Hour
	for range 5 {
		start := time.Now()
		must.Have(jpeg.Decode(bytes.NewReader(data)))(b)
		decode = min(decode, time.Since(start))
	}
	for _, n := range []int{10, 100, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			photos := filepath.Join(dir, fmt.Sprint(n)) // one name each: a photo named twice is measured once
			must.OK(b, os.MkdirAll(photos, 0o755))
			for i := range n {
				if err := os.Link(first, filepath.Join(photos, fmt.Sprintf("%04d.jpg", i))); err != nil && !os.IsExist(err) {
					b.Fatal(err)
				}
			}
			args := []string{"measure", "--csv", photos}
			var two, one cost
			for b.Loop() {
				two = costOf(b, []string{"GOMAXPROCS=2"}, exe, args...)
			}
			b.ReportMetric(two.wall.Seconds()*1000/float64(n), "ms/photo")
			b.ReportMetric(two.cpu.Seconds()/float64(n)/decode.Seconds(), "cpu/decode")
			b.ReportMetric(two.resident, "MiB")
			if n == 10 {
				one = costOf(b, []string{"GOMAXPROCS=1"}, exe, args...)
				b.ReportMetric(one.wall.Seconds()/two.wall.Seconds(), "2-over-1-cores")
			}
		})
	}
}

// BenchmarkHEIC is one HEIC photo in a run of its own, named by HUEWARD_HEIC (testdata/photos/fetch.sh --samples gets some):
// with the decoder's compiled code kept by an earlier run, and without.
func BenchmarkHEIC(b *testing.B) {
	name := os.Getenv("HUEWARD_HEIC")
	if name == "" {
		b.Skip("name a HEIC photo by HUEWARD_HEIC")
	}
	exe := builtNow(b)
	for _, kept := range []bool{false, true} {
		b.Run(strings.Replace(fmt.Sprint("kept=", kept), "=", "-", 1), func(b *testing.B) {
			env := "XDG_CACHE_HOME=" + b.TempDir()
			least := cost{wall: time.Hour, cpu: time.Hour}
			for b.Loop() {
				if !kept {
					env = "XDG_CACHE_HOME=" + b.TempDir()
				}
				c := costOf(b, []string{env}, exe, "measure", "--no-card", name)
				least.wall, least.cpu = min(least.wall, c.wall), min(least.cpu, c.cpu)
			}
			b.ReportMetric(least.wall.Seconds()*1000, "least-ms")
			b.ReportMetric(least.cpu.Seconds()*1000, "least-cpu-ms")
		})
	}
}

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
		must.OK(b, os.WriteFile(file, []byte(text), 0o666))
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
