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
	before := need(os.ReadFile(filepath.Join(dir, "photos", "M-07_1.jpg")))(t)
	if !bytes.Contains(before, []byte("Exif\x00\x00")) {
		t.Fatal("the photo has nothing to hide; this test would tell nothing")
	}
	name := filepath.Join(dir, "season.html")
	hueward(t, statusDone, "report", "--book", filepath.Join(dir, "book"), "-o", name)
	page := need(os.ReadFile(name))(t)
	pictures := regexp.MustCompile(`data:image/[a-z]+;base64,([A-Za-z0-9+/=]+)`).FindAllSubmatch(page, -1)
	if len(pictures) < 2 {
		t.Fatalf("%d pictures in the report, want one of each of 2 photos", len(pictures))
	}
	for _, p := range pictures {
		b := need(base64.StdEncoding.DecodeString(string(p[1])))(t)
		if bytes.Contains(b, []byte("Exif")) || bytes.Contains(b, []byte("Pocket")) {
			t.Errorf("a picture of %d bytes still carries what the camera wrote", len(b))
		}
	}
}
