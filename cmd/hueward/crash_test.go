package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/safety"
)

// Crash tests kill the real program, as a power cut or a closed lid does, and look
// at what it left. Without HUEWARD_FULL=1 there are a few kills only, with it 15.

// built is the program: this one, as TestMain lets scripts call it by its name.
func built(t *testing.T) string {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("a process cannot be killed in the same way there")
	}
	file := must.Have(exec.LookPath("hueward"))(t)
	return file
}

// full says that everything is to be tried.
var full = os.Getenv("HUEWARD_FULL") == "1"

// kills is how often a crash test kills.
func kills() int {
	if full {
		return 15
	}
	return 3
}

// program runs it to its end and returns what it printed.
func program(t *testing.T, file, dir string, args ...string) string {
	t.Helper()
	cmd := exec.Command(file, args...)
	cmd.Dir = dir
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("hueward %s: %v\n%s%s", strings.Join(args, " "), err, out.String(), errs.String())
	}
	return out.String()
}

// kill starts the program and kills it with a signal that it cannot catch after so
// long, unless it has finished by then; just before that, seen is called. done
// reports whether it had finished, which must be without an error; out is what it
// printed.
func kill(t *testing.T, file, dir string, after time.Duration, seen func(), args ...string) (done bool, out string) {
	t.Helper()
	cmd := exec.Command(file, args...)
	cmd.Dir = dir
	var printed, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &printed, &errs
	must.OK(t, cmd.Start())
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	select {
	case err := <-ended:
		if err != nil {
			t.Fatalf("hueward %s: %v\n%s", strings.Join(args, " "), err, errs.String())
		}
		return true, printed.String()
	case <-time.After(after):
	}
	seen()
	cmd.Process.Kill() // SIGKILL
	err := <-ended
	var e *exec.ExitError
	return err == nil || !errors.As(err, &e), printed.String()
}

// sound opens the book as the next command would, and checks all of it. Copies that
// were not finished, and a photo that was copied but not yet noted, are no harm.
func sound(t *testing.T, dir string) *book.Book {
	t.Helper()
	b, err := book.Open(context.Background(), dir, nil)
	if err != nil {
		t.Fatalf("after a kill the book does not open: %v", err)
	}
	found := must.Have(safety.Check(context.Background(), b, nil))(t)
	for _, f := range found {
		if f.Harmful {
			t.Errorf("after a kill: %s: %s", f.Where, f.What)
		}
	}
	return b
}

// measured are the photos that have a reading, by their sum, with how many readings.
func readingsOf(t *testing.T, b *book.Book) map[string]int {
	t.Helper()
	all := must.Have(b.Photos(context.Background(), "", ""))(t)
	out := map[string]int{}
	for _, p := range all {
		out[p.SHA256] = p.Readings
	}
	return out
}

var notAgain = regexp.MustCompile(`, (\d+) of them not measured again`)

// TestMeasureKilled kills "measure" on many photos at random moments, again and again
// until it gets through: the book opens and is sound each time, nothing that could be
// seen in it is missing, and the rest is measured without measuring anything twice.
func TestMeasureKilled(t *testing.T) {
	t.Parallel()
	file := built(t)
	root := t.TempDir()
	n := 16
	if full {
		n = 60
	}
	for i := range n { // a few blooms; each photo a file of its own by its capture time
		s, info, err := sceneOf([]string{"size=360,270", fmt.Sprintf("petal=%d,%d,%d", 66+i%5, 14+i%3, 38), fmt.Sprintf("seed=%d", i%20)})
		must.OK(t, err)
		info.Taken = time.Date(2026, 7, 1, 8, 0, i, 0, time.UTC)
		name := filepath.Join(root, "photos", fmt.Sprintf("M-%02d", i%30+1), fmt.Sprintf("%d.jpg", i))
		must.Have(drawFile(name, s, info))(t)
	}
	var whole time.Duration
	rng := rand.New(rand.NewPCG(300, uint64(time.Now().UnixNano())))
	done, runs := 0, 0
	for done < kills() {
		runs++
		dir := filepath.Join(root, fmt.Sprint("garden", runs))
		program(t, file, root, "new", dir, "--line", "buff")
		args := []string{"measure", "photos", "--book", dir, "--season", "2026"}
		before := map[string]int{}
		start := time.Now()
		for {
			within := 1500 * time.Millisecond
			if whole > 0 {
				within = whole / 4
			}
			if done >= kills() {
				within = time.Hour
			}
			seen := map[string]int{}
			finished, out := kill(t, file, root, time.Duration(rng.Int64N(int64(within))), func() {
				b, err := book.Open(context.Background(), dir, nil)
				if err != nil {
					t.Errorf("while measuring the book does not open: %v", err)
					return
				}
				defer b.Close()
				seen = readingsOf(t, b)
			}, args...)
			b := sound(t, dir)
			now := readingsOf(t, b)
			b.Close()
			for _, was := range []map[string]int{before, seen} {
				for sum, k := range was {
					if now[sum] < k {
						t.Fatalf("photo %.12s had %d readings, and has %d after a kill", sum, k, now[sum])
					}
				}
			}
			for sum, k := range now {
				if k != 1 {
					t.Fatalf("photo %.12s has %d readings, want 1", sum, k)
				}
			}
			if finished {
				again := 0
				if m := notAgain.FindStringSubmatch(out); m != nil {
					again, _ = strconv.Atoi(m[1])
				}
				if again != len(before) {
					t.Fatalf("%d of %d photos that were measured before the kill were not measured again", again, len(before))
				}
				break
			}
			before = now
			done++
		}
		if whole == 0 {
			whole = time.Since(start)
		}
		b := sound(t, dir)
		if all := readingsOf(t, b); len(all) != n {
			t.Fatalf("the book has %d photos, want %d", len(all), n)
		}
		b.Close()
		out := program(t, file, root, args...)
		if m := notAgain.FindStringSubmatch(out); m == nil || m[1] != strconv.Itoa(n) {
			t.Fatalf("once more measured some again: %s", out[max(0, len(out)-300):])
		}
		os.RemoveAll(dir)
	}
	t.Logf("%d kills in %d books", done, runs)
}

// TestTwoAtOnce: two programs write to one book at once, and each gets its turn:
// all that was said to be kept is there.
func TestTwoAtOnce(t *testing.T) {
	t.Parallel()
	file := built(t)
	root := t.TempDir()
	program(t, file, root, "new", "garden", "--line", "buff")
	dir := filepath.Join(root, "garden")
	program(t, file, dir, "plants", "add", "M-01")
	const each = 8
	failed := make(chan error, 2*each)
	for w := range 2 {
		go func() {
			for i := range each {
				cmd := exec.Command(file, "plants", "add", fmt.Sprintf("M-%d-%02d", w, i))
				cmd.Dir = dir
				out, err := cmd.CombinedOutput()
				if err != nil {
					err = fmt.Errorf("%w: %s", err, out)
				}
				failed <- err
			}
		}()
	}
	for range 2 * each {
		if err := <-failed; err != nil {
			t.Error(err)
		}
	}
	b := sound(t, dir)
	defer b.Close()
	if plants, err := b.Plants(context.Background(), book.PlantFilter{}); err != nil || len(plants) != 1+2*each {
		t.Errorf("%d plants, want %d (%v)", len(plants), 1+2*each, err)
	}
}

// TestImportKilled kills "import" at random moments: the book opens and is sound, and
// has all of the rows or none; then the same import gets through.
func TestImportKilled(t *testing.T) {
	t.Parallel()
	file := built(t)
	root := t.TempDir()
	const n = 4000
	var csv strings.Builder
	csv.WriteString("plant,line,season,seed_parent,pollen_parent,note\n")
	for i := range n {
		parents := ","
		if i > 2 {
			parents = fmt.Sprintf("T-%d,T-%d", i/2, i/3)
		}
		fmt.Fprintf(&csv, "T-%d,buff,2026,%s,plant %d\n", i, parents, i)
	}
	must.OK(t, os.WriteFile(filepath.Join(root, "plants.csv"), []byte(csv.String()), 0o644))
	program(t, file, root, "new", "model", "--line", "buff")
	fresh := func(name string) string {
		dir := filepath.Join(root, name)
		must.OK(t, os.CopyFS(dir, os.DirFS(filepath.Join(root, "model"))))
		return dir
	}
	count := func(dir string) int {
		b := sound(t, dir)
		defer b.Close()
		plants := must.Have(b.Plants(context.Background(), book.PlantFilter{}))(t)
		return len(plants)
	}
	dir := fresh("whole")
	start := time.Now()
	program(t, file, root, "import", "plants.csv", "--book", dir)
	whole := time.Since(start)
	if got := count(dir); got != n {
		t.Fatalf("%d plants imported, want %d", got, n)
	}
	rng := rand.New(rand.NewPCG(200, uint64(time.Now().UnixNano())))
	done, finished, none := 0, 0, 0
	dir = fresh("first")
	for books := 1; done < kills(); {
		over, _ := kill(t, file, root, time.Duration(rng.Int64N(int64(whole*5/4))), func() {}, "import", "plants.csv", "--book", dir)
		got := count(dir)
		switch {
		case got != 0 && got != n || over && got != n:
			t.Fatalf("after a kill there are %d of %d plants (finished: %v)", got, n, over)
		case over:
			finished++
		default:
			done++
		}
		if got == 0 {
			none++
			continue // the same book again: the interrupted import left nothing in the way
		}
		if out := program(t, file, root, "import", "plants.csv", "--book", dir); count(dir) != n {
			t.Fatalf("imported again: %s", out)
		}
		os.RemoveAll(dir)
		books++
		dir = fresh(fmt.Sprint("book", books))
	}
	t.Logf("%d kills, %d of which left nothing; %d got through before", done, none, finished)
	program(t, file, root, "import", "plants.csv", "--book", dir)
	if got := count(dir); got != n {
		t.Errorf("at last %d plants, want %d", got, n)
	}
}
