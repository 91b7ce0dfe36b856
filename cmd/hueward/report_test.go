package main

import (
	"bytes"
	"encoding/base64"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// TestReportPlace looks at each picture in a report of photos that say where
// they were taken: none does any more.
func TestReportPlace(t *testing.T) {
	t.Parallel()
	dir := exampleFolder(t)
	before, err := os.ReadFile(filepath.Join(dir, "photos", "M-07_1.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(before, []byte("Exif\x00\x00")) {
		t.Fatal("the photo has nothing to hide; this test would tell nothing")
	}
	name := filepath.Join(dir, "season.html")
	hueward(t, statusDone, "report", "--book", filepath.Join(dir, "book"), "-o", name)
	page, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	pictures := regexp.MustCompile(`data:image/[a-z]+;base64,([A-Za-z0-9+/=]+)`).FindAllSubmatch(page, -1)
	if len(pictures) < 2 {
		t.Fatalf("%d pictures in the report, want one of each of 2 photos", len(pictures))
	}
	for _, p := range pictures {
		b, err := base64.StdEncoding.DecodeString(string(p[1]))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b, []byte("Exif")) || bytes.Contains(b, []byte("Pocket")) {
			t.Errorf("a picture of %d bytes still carries what the camera wrote", len(b))
		}
	}
}
