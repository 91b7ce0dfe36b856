package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"io"
	"slices"
	"strings"
	"time"
)

// file is one file of an archive.
type file struct {
	name    string // within the archive's folder, with slashes
	data    []byte
	program bool
}

// inOrder sorts by name, so that an archive does not depend on the order in which its files were made.
func inOrder(files []file) []file {
	return slices.SortedFunc(slices.Values(files), func(a, b file) int { return strings.Compare(a.name, b.name) })
}

// writeTar packs the files into one folder, owned by nobody in particular and all of one time.
func writeTar(w io.Writer, folder string, files []file, made time.Time) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	for _, f := range inOrder(files) {
		mode := int64(0o644)
		if f.program {
			mode = 0o755
		}
		h := &tar.Header{Name: folder + "/" + f.name, Mode: mode, Size: int64(len(f.data)), ModTime: made.UTC(), Format: tar.FormatUSTAR}
		if err := t.WriteHeader(h); err != nil {
			return err
		}
		if _, err := t.Write(f.data); err != nil {
			return err
		}
	}
	if err := t.Close(); err != nil {
		return err
	}
	return z.Close()
}

// writeZip does the same as a zip file.
func writeZip(w io.Writer, folder string, files []file, made time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range inOrder(files) {
		to, err := z.CreateHeader(&zip.FileHeader{Name: folder + "/" + f.name, Method: zip.Deflate, Modified: made.UTC()})
		if err != nil {
			return err
		}
		if _, err := to.Write(f.data); err != nil {
			return err
		}
	}
	return z.Close()
}
