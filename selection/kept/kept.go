// Package kept is a cache on disk for results that take long to work out, as a grower lists a book many times between two
// changes.
//
// Start with [In], which names the folder, then [Value]. The program works without it: before In, nothing is kept, and what is
// missing or damaged is worked out again. Several processes may use one folder at once. A file's name is a digest of everything
// that the result depends on, the program itself included, so that a stale result is never read.
package kept

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const (
	start = "kept-" // prefix of the files' names
	days  = 30      // after which a file is deleted
)

var folder, program string

// In sets the folder that values are kept in, which is made when it is needed; empty: nothing is kept. Call it once, before
// any [Value].
func In(dir string) {
	name, _ := os.Executable()
	if info, err := os.Stat(name); err == nil { // two builds may have the same version, but not the same file
		folder, program = dir, fmt.Sprint(name, info.Size(), info.ModTime().UnixNano())
	}
}

// Value returns what work returns, or what it returned in an earlier run with the same of. of must hold everything that work depends
// on, in exported fields, as it is compared as JSON. T is stored by gob: exported fields only, and an empty slice comes back as nil.
// Errors are not kept.
func Value[T any](work func() (T, error), of ...any) (T, error) {
	key, err := json.Marshal(of)
	if folder == "" || err != nil {
		return work()
	}
	digest := sha256.Sum256(append(key, program...))
	name := filepath.Join(folder, start+hex.EncodeToString(digest[:16]))
	var v T
	if b, err := os.ReadFile(name); err == nil && len(b) > sha256.Size {
		sum := sha256.Sum256(b[sha256.Size:])
		if bytes.Equal(sum[:], b[:sha256.Size]) && gob.NewDecoder(bytes.NewReader(b[sha256.Size:])).Decode(&v) == nil {
			return v, nil
		}
	}
	if v, err = work(); err == nil {
		keep(name, v)
	}
	return v, err
}

// keep writes a file completely or not at all, and removes old files.
func keep(name string, v any) {
	var b bytes.Buffer
	if gob.NewEncoder(&b).Encode(v) != nil || os.MkdirAll(folder, 0o700) != nil {
		return
	}
	f, err := os.CreateTemp(folder, start+"new-")
	if err != nil {
		return
	}
	sum := sha256.Sum256(b.Bytes())
	_, err = f.Write(append(sum[:], b.Bytes()...))
	if f.Close() != nil || err != nil || os.Rename(f.Name(), name) != nil {
		os.Remove(f.Name())
		return
	}
	all, _ := os.ReadDir(folder)
	for _, e := range all {
		if info, err := e.Info(); err == nil && strings.HasPrefix(e.Name(), start) && time.Since(info.ModTime()) > days*24*time.Hour {
			os.Remove(filepath.Join(folder, e.Name()))
		}
	}
}
