package colorimg_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// batchFolder names the variable by which the test binary is told to run as
// the child of a benchmark over the photos of a folder.
const batchFolder = "HUEWARD_BENCH_BATCH"

func TestMain(m *testing.M) {
	dir := os.Getenv(batchFolder)
	if dir == "" {
		os.Exit(must.Main(m.Run))
	}
	if err := measureFolder(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// measureFolder measures the folder's photos and prints how many there were and
// the largest resident size of this process in KiB.
func measureFolder(dir string) error {
	files, err := filepath.Glob(filepath.Join(dir, "*.jpg"))
	if err != nil {
		return err
	}
	jobs := make([]colorimg.Job, len(files))
	for i, f := range files {
		jobs[i] = colorimg.Job{File: f}
	}
	n := 0
	err = colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
		if r.Refused != nil {
			return r.Refused
		}
		n++
		return nil
	})
	if err != nil {
		return err
	}
	peak, err := peakKiB()
	fmt.Println(n, peak)
	return err
}

// peakKiB reads the largest resident size from the kernel. The figure that wait
// hands a parent (ru_maxrss) would not do: it starts from the parent's own
// size, which a child shares until it runs its program.
func peakKiB() (int, error) {
	b, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, err
	}
	for s := bufio.NewScanner(bytes.NewReader(b)); s.Scan(); {
		if v, ok := strings.CutPrefix(s.Text(), "VmHWM:"); ok {
			return strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(v, "kB")))
		}
	}
	return 0, errors.New("/proc/self/status has no VmHWM")
}

// BenchmarkBatch100 measures 100 photos of 12 megapixels in a process of its
// own and reports that process's peak memory: at most 400 MiB is wanted.
func BenchmarkBatch100(b *testing.B) {
	dir := folderOf(b, 100, data12MP(b))
	peak := 0.0
	for b.Loop() {
		peak = max(peak, peakMiB(b, dir, 100))
	}
	b.ReportMetric(peak, "peak-MiB")
}

// BenchmarkBatch1000 measures 100 and 1000 photos of one megapixel, each in a
// process of its own, and reports the peak memory of both and their ratio: it
// is wanted to be flat, at most 1.1.
func BenchmarkBatch1000(b *testing.B) {
	s := render.Scene{Width: 1200, Height: 900, Form: render.SemiDouble, Petal: cie.Lab{L: 66, A: 37, B: 60}, Diameter: 0.5, Seed: 12}
	var photo bytes.Buffer
	must.Have(s.JPEG(&photo, 90))(b)
	few, many := folderOf(b, 100, photo.Bytes()), folderOf(b, 1000, photo.Bytes())
	var at100, at1000 []float64
	for b.Loop() {
		at100 = append(at100, peakMiB(b, few, 100))
		at1000 = append(at1000, peakMiB(b, many, 1000))
	}
	p, q := quantile(at100, 0.5), quantile(at1000, 0.5)
	b.ReportMetric(p, "peak-MiB-of-100")
	b.ReportMetric(q, "peak-MiB-of-1000")
	b.ReportMetric(q/p, "1000/100")
}

// folderOf makes a folder of n photos: one file under n names.
func folderOf(b *testing.B, n int, data []byte) string {
	b.Helper()
	dir := b.TempDir()
	first := filepath.Join(dir, "0000.jpg")
	must.OK(b, os.WriteFile(first, data, 0o600))
	for i := 1; i < n; i++ {
		must.OK(b, os.Link(first, filepath.Join(dir, fmt.Sprintf("%04d.jpg", i))))
	}
	return dir
}

// peakMiB measures the n photos of the folder in a process of its own.
func peakMiB(b *testing.B, dir string, n int) float64 {
	b.Helper()
	self := must.Have(os.Executable())(b)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), batchFolder+"="+dir)
	out := must.Have(cmd.Output())(b)
	var done, kib int
	if _, err := fmt.Sscan(string(out), &done, &kib); err != nil || done != n {
		b.Fatalf("child measured %d of %d photos: %q, %v", done, n, out, err)
	}
	return float64(kib) / 1024
}
