package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
// and one line says how many.
func TestMeasureStopped(t *testing.T) {
	dir := t.TempDir()
	for i := range 12 {
		name := filepath.Join(dir, "photos", fmt.Sprintf("M-%02d_1.jpg", i+1))
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if _, err := drawFile(name, render.Scene{Width: 480, Height: 360, EV: -0.5, Seed: int64(i)}, photo.Info{}); err != nil {
			t.Fatal(err)
		}
	}
	book := filepath.Join(dir, "book")
	hueward(t, statusDone, "new", book, "--line", "buff", "--season", "2026")

	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var stderr bytes.Buffer
	stdout := &cutting{cancel: cancel}
	status := run(ctx, []string{"measure", filepath.Join(dir, "photos"), "--book", book, "--csv"}, strings.NewReader(""), stdout, &stderr, nil)
	if status != statusFailed {
		t.Errorf("exit status = %d, want %d", status, statusFailed)
	}
	rows := strings.Count(stdout.String(), "\n") - 1 // but for the head
	if rows < 1 || rows >= 12 {
		t.Fatalf("%d photos told, want at least 1 and fewer than 12", rows)
	}
	want := fmt.Sprintf("hueward: stopped; %d of 12 photos measured and kept; run the same command again for the rest\n", rows)
	if stderr.String() != want {
		t.Errorf("stderr = %q, want %q", stderr.String(), want)
	}
	list, _ := hueward(t, statusDone, "plants", "--csv", "--book", book)
	if got := strings.Count(list, "\n") - 1; got != rows {
		t.Errorf("%d plants in the book, want the %d that were told", got, rows)
	}
}
