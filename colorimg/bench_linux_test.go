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
)

// batchFolder names the variable by which the test binary is told to run as
// the child of BenchmarkBatch100 over the photos of a folder.
const batchFolder = "HUEWARD_BENCH_BATCH"

func TestMain(m *testing.M) {
	dir := os.Getenv(batchFolder)
	if dir == "" {
		os.Exit(m.Run())
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
	data := data12MP(b)
	dir := b.TempDir()
	for i := range 100 {
		name := filepath.Join(dir, fmt.Sprintf("%03d.jpg", i))
		if i == 0 {
			if err := os.WriteFile(name, data, 0o600); err != nil {
				b.Fatal(err)
			}
		} else if err := os.Link(filepath.Join(dir, "000.jpg"), name); err != nil {
			b.Fatal(err)
		}
	}
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	peak := 0
	for b.Loop() {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), batchFolder+"="+dir)
		out, err := cmd.Output()
		if err != nil {
			b.Fatal(err)
		}
		var n, kib int
		if _, err := fmt.Sscan(string(out), &n, &kib); err != nil || n != 100 {
			b.Fatalf("child measured %d photos: %q, %v", n, out, err)
		}
		peak = max(peak, kib)
	}
	mib := float64(peak) / 1024
	b.ReportMetric(mib, "peak-MiB")
	if mib > 400 {
		b.Errorf("peak memory %.0f MiB, want at most 400", mib)
	}
}
