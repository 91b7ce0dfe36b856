package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"hueward/colorimg"
)

var update = flag.Bool("update", false, "rewrite the golden files in testdata")

// noon is the clock of every book in the tests.
var noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

var clock = &Options{Now: func() time.Time { return noon }}

// checker is what helpers need of a test, rapid's too.
type checker interface {
	Helper()
	Errorf(format string, args ...any)
	Fatal(args ...any)
}

// newBook starts a book in a fresh folder.
func newBook(t testing.TB) *Book {
	t.Helper()
	b, err := Create(context.Background(), filepath.Join(t.TempDir(), "garden"), clock)
	if err != nil {
		t.Fatalf("Create: %v", err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// writeFile writes a file outside of any book and returns its path.
func writeFile(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// reading is a sound reading of a file with that content.
func reading(content string) *colorimg.Reading {
	sum := sha256.Sum256([]byte(content))
	return &colorimg.Reading{
		SHA256: hex.EncodeToString(sum[:]), Status: colorimg.OK, Method: 1,
		TakenAt: &colorimg.TakenAt{Time: time.Date(2026, 8, 13, 9, 30, 0, 0, time.UTC)},
		Camera:  "Made-up Phone 3", Size: [2]int{4000, 3000},
		Lab: &colorimg.Triple{74.2, 18.5, 36.1}, LCh: &colorimg.Triple{}, Hex: "#dfa97a", Name: "moderate orange",
		SE:    colorimg.Errors{Precision: 0.4, Trueness: 1.9},
		SELab: &colorimg.Triple{0.3, 0.2, 0.3}, Spread: &colorimg.Triple{3, 2, 4},
		Colors: []colorimg.Share{{Lab: colorimg.Triple{74, 18, 36}, Share: 0.8}, {Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}},
		Petal: colorimg.PetalArea{Pixels: 120000, Share: 0.01, Bloom: &colorimg.Point{1200.5, 900.25},
			Outline:        [][]colorimg.Point{{{1, 2}, {3, 4}, {5, 6.5}}},
			DiameterPixels: 812.5, DiameterMM: 64.2},
		Radial: []colorimg.Ring{{At: 0.25, Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}, {At: 0.75, Lab: colorimg.Triple{74, 18, 36}, Share: 0.8}},
		Zones:  []colorimg.Zone{{Name: "eye", From: 0.1, To: 0.4, Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}},
		Tag:    colorimg.TagRead{Found: true, Text: "M-1", Corners: &[4]colorimg.Point{{5, 5}, {25, 5}, {25, 25.5}, {5, 25}}, MM: 20},
		Model:  "matrix of 24 patches",
		Card: colorimg.CardRead{Found: true, Kind: "strip", Corners: &[4]colorimg.Point{{10, 10}, {90, 12}, {88, 70}, {9, 69}},
			Gains: [3]float64{1.1, 1, 0.9}, CCT: 5600, EV: -0.3},
		Profile: "Display P3", Flags: []colorimg.Flag{colorimg.FlagCardSmall},
	}
}

// record keeps a file of that name and content as a photo of the plant.
func record(t testing.TB, b *Book, plant, name, content string) *Recorded {
	t.Helper()
	r, err := b.Record(context.Background(), Entry{
		File: writeFile(t, name, content), Line: "marigold", Season: "2026", Plant: plant, Reading: reading(content),
	})
	if err != nil {
		t.Fatalf("Record: %v", err)
	}
	return r
}

// tree lists the files and folders below dir, but for the database's own.
func tree(t testing.TB, dir string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		switch rel {
		case ".", "book.db", "book.db-wal", "book.db-shm", "backups":
		default:
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// count is how many rows the table has.
func count(t testing.TB, b *Book, table string) int {
	t.Helper()
	var n int
	if err := b.db.QueryRow("SELECT count(*) FROM " + table).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

func sameFile(t testing.TB, x, y string) bool {
	t.Helper()
	a, err := os.ReadFile(x)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(y)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Equal(a, b)
}

// copyDir copies testdata into a fresh folder.
func copyDir(t testing.TB, from string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "book")
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return to
}
