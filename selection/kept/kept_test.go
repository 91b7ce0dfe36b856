package kept

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"
)

type told struct {
	Numbers []float64
	Words   string
}

// A value comes back to the last bit without its work, unless something that it was made of differs, the file is damaged in
// any byte, or nothing may be kept there. Properties, no source.
func TestValue(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "[new] folder")
	In(dir)
	t.Cleanup(func() { folder = "" })
	want := told{[]float64{math.Pi, math.NaN(), math.Inf(-1), 1e-300}, "x"}
	worked := 0
	ask := func(of ...any) {
		t.Helper()
		got, err := Value(func() (told, error) { worked++; return want, nil }, of...)
		same := slices.EqualFunc(got.Numbers, want.Numbers, func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) })
		if err != nil || !same || got.Words != want.Words {
			t.Errorf("%v: %v, %v, want %v", of, got, err, want)
		}
	}
	wantWork := func(n int, what string) {
		t.Helper()
		if worked != n {
			t.Errorf("%s: worked %d times, want %d", what, worked, n)
		}
		worked = 0
	}
	ask(1.0, "a")
	ask(1.0, "a")
	wantWork(1, "the same asked twice")
	ask(math.Nextafter(1, 2), "a")
	ask(1.0, "b")
	program += "2"
	ask(1.0, "a")
	wantWork(3, "another number, another word, another build of the program")
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 4 {
		t.Fatalf("%d files kept, %v, want 4", len(files), err)
	}
	for _, f := range files {
		name := filepath.Join(dir, f.Name())
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		b[len(b)/2] ^= 1
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	ask(1.0, "a")
	ask(1.0, "a")
	wantWork(1, "a damaged file")
	for range 2 {
		if _, err := Value(func() (told, error) { worked++; return told{}, errors.New("no") }, "error"); err == nil {
			t.Error("an error was lost")
		}
	}
	wantWork(2, "an error asked twice")
	ask(math.NaN())
	ask(math.NaN())
	wantWork(2, "what JSON cannot write")
	folder = files[0].Name() + "/x\x00" // cannot be made
	ask(1.0)
	ask(1.0)
	wantWork(2, "a folder that cannot be made")
}

// Several processes at once see whole files only, and files of long ago go.
func TestValueAtOnce(t *testing.T) {
	In(t.TempDir())
	t.Cleanup(func() { folder = "" })
	old, other := filepath.Join(folder, start+"old"), filepath.Join(folder, "last-book")
	for _, name := range []string{old, other} {
		at := time.Now().AddDate(0, 0, -days-1)
		if err := errors.Join(os.WriteFile(name, []byte("x"), 0o600), os.Chtimes(name, at, at)); err != nil {
			t.Fatal(err)
		}
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for k := range 20 {
				if got, err := Value(func() (string, error) { return fmt.Sprint(k), nil }, k); err != nil || got != fmt.Sprint(k) {
					t.Errorf("%d: %q, %v", k, got, err)
				}
			}
		})
	}
	wg.Wait()
	if files, err := os.ReadDir(folder); err != nil || len(files) != 21 {
		t.Errorf("%d files stay, %v, want 20 and one of another name", len(files), err)
	}
}
