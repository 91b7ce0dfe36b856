package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// cutting cancels after the first write, as Ctrl-C would.
type cutting struct {
	bytes.Buffer
	cancel func()
}

func (c *cutting) Write(p []byte) (int, error) {
	c.cancel()
	return c.Buffer.Write(p)
}

// TestMeasureStopped stops a batch after its first photo: what is done is kept,
// what is printed is whole, and one line says how many.
func TestMeasureStopped(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for i := range 12 {
		name := filepath.Join(dir, "photos", fmt.Sprintf("M-%02d_1.jpg", i+1))
		must.Have(drawFile(name, render.Scene{Width: 480, Height: 360, EV: -0.5, Seed: int64(i)}, photo.Info{}))(t)
	}
	book := filepath.Join(dir, "book")
	hueward(t, statusDone, "new", book, "--line", "buff", "--season", "2026")

	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var stderr bytes.Buffer
	stdout := &cutting{cancel: cancel}
	status := run(ctx, []string{"measure", filepath.Join(dir, "photos"), "--book", book, "--json"}, strings.NewReader(""), stdout, &stderr,
		nil)
	if status != statusRefused { // something was kept
		t.Errorf("exit status = %d, want %d", status, statusRefused)
	}
	var told []map[string]any
	if err := json.Unmarshal(stdout.Bytes(), &told); err != nil {
		t.Fatalf("what was printed is not whole: %v", err)
	}
	n := len(told)
	if n < 1 || n >= 12 {
		t.Fatalf("%d photos told, want at least 1 and fewer than 12", n)
	}
	want := fmt.Sprintf("hueward: stopped; %d of 12 photos measured and kept; run the same command again for the rest\n", n)
	if !strings.HasSuffix(stderr.String(), want) { // new plants are told before
		t.Errorf("stderr = %q, want %q", stderr.String(), want)
	}
	list, _ := hueward(t, statusDone, "plants", "--csv", "--book", book)
	if got := strings.Count(list, "\n") - 1; got != n {
		t.Errorf("%d plants in the book, want the %d that were reported", got, n)
	}
}

// TestDemoStopped stops the demo while it draws: nothing of it is left.
func TestDemoStopped(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	ctx, cancel := context.WithTimeout(context.Background(), 400*time.Millisecond)
	defer cancel()
	var stdout, stderr bytes.Buffer
	status := run(ctx, []string{"demo", filepath.Join(dir, "demo")}, strings.NewReader(""), &stdout, &stderr, nil)
	if want := "hueward: stopped; what the demo had made is removed\n"; status != statusFailed || stderr.String() != want {
		t.Errorf("status %d, stderr %q; want %d, %q", status, stderr.String(), statusFailed, want)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("%s is left", left[0].Name())
	}
}

// TestMeasureGrowing measures a folder into which photos are still being copied: those
// are set aside, and measured when they are whole; one that stays half is refused.
func TestMeasureGrowing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	photos, book := filepath.Join(dir, "photos"), filepath.Join(dir, "book")
	var whole []byte
	for i, name := range []string{"M-01_1.jpg", "M-02_1.jpg", "M-03_1.jpg"} {
		file := filepath.Join(photos, name)
		must.Have(drawFile(file, render.Scene{Width: 480, Height: 360, EV: -0.5, Seed: int64(i)}, photo.Info{}))(t)
		if i == 1 {
			continue
		}
		b := must.Have(os.ReadFile(file))(t)
		must.OK(t, os.WriteFile(file, b[:len(b)/2], 0o666))
		if i == 0 {
			whole = b
		}
	}
	hueward(t, statusDone, "new", book, "--line", "buff", "--season", "2026")
	copied := make(chan error)
	go func() {
		f, err := os.OpenFile(filepath.Join(photos, "M-01_1.jpg"), os.O_WRONLY|os.O_APPEND, 0)
		for rest := whole[len(whole)/2:]; err == nil && len(rest) > 0; {
			n := min(len(rest), len(whole)/16)
			time.Sleep(150 * time.Millisecond)
			_, err = f.Write(rest[:n])
			rest = rest[n:]
		}
		f.Close()
		copied <- err
	}()
	_, stderr := hueward(t, statusRefused, "measure", photos, "--book", book)
	must.OK(t, <-copied)
	if strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "M-03_1.jpg: the file is damaged") {
		t.Errorf("stderr = %q, want one line on M-03_1.jpg", stderr)
	}
	list, _ := hueward(t, statusDone, "plants", "--csv", "--book", book)
	if !strings.Contains(list, "M-01,") || !strings.Contains(list, "M-02,") || strings.Contains(list, "M-03,") {
		t.Errorf("kept:\n%s", list)
	}
}
