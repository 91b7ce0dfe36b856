package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"io"
	"slices"
	"testing"
	"time"

	"hueward/colorimg/must"
)

// TestPack: the same files, whatever their order, give the same bytes, and come out as they went in, programs to be run.
func TestPack(t *testing.T) {
	t.Parallel()
	files := []file{{"hueward", []byte("program"), true}, {"LICENSE", []byte("text"), false}, {"man/hueward.1", []byte("page"), false}}
	made := time.Date(2026, 8, 1, 12, 30, 10, 0, time.UTC)
	pack := func(write func(io.Writer, string, []file, time.Time) error) []byte {
		var a, b bytes.Buffer
		turned := slices.Clone(files)
		slices.Reverse(turned)
		must.OK(t, write(&a, "x", files, made))
		must.OK(t, write(&b, "x", turned, made.In(time.FixedZone("", 7200))))
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Error("another order or zone gives another archive")
		}
		return a.Bytes()
	}
	seen := map[string]int{}
	z := must.Have(gzip.NewReader(bytes.NewReader(pack(writeTar))))(t)
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if err == io.EOF {
			break
		}
		must.OK(t, err)
		b, err := io.ReadAll(r)
		if err != nil || !h.ModTime.Equal(made) || h.Mode&0o100 != 0 != (h.Name == "x/hueward") {
			t.Errorf("%s: time %v, mode %o, %v", h.Name, h.ModTime, h.Mode, err)
		}
		seen[h.Name+" "+string(b)]++
	}
	b := pack(writeZip)
	r := must.Have(zip.NewReader(bytes.NewReader(b), int64(len(b))))(t)
	for _, f := range r.File {
		in := must.Have(f.Open())(t)
		b, err := io.ReadAll(in)
		if err != nil || !f.Modified.Equal(made) {
			t.Errorf("%s: time %v, %v", f.Name, f.Modified, err)
		}
		seen[f.Name+" "+string(b)]++
	}
	for _, f := range files {
		if n := seen["x/"+f.name+" "+string(f.data)]; n != 2 {
			t.Errorf("%s lies in %d of 2 archives as it should", f.name, n)
		}
	}
}
