// Package kept keeps what took long to work out in a folder of the user's own, for the next run of the program: a grower lists
// a book many times between two changes.
//
// Start with [Value]. It is never needed: what is not there, or is damaged, is worked out again, and nothing is kept until
// [In] names a folder. Several processes may use one folder at once. Files are found by a digest of all that their content
// was made of, the program itself included, so that nothing stale can be read.
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
	start = "kept-" // of the files' names
	days  = 30      // that a file stays
)

var folder, program string

// In keeps values in a folder, which is made when there is something to keep; empty: nowhere. It is called once, before
// any [Value].
func In(dir string) {
	name, _ := os.Executable()
	if info, err := os.Stat(name); err == nil { // another build is another file, whatever version it calls itself
		folder, program = dir, fmt.Sprint(name, info.Size(), info.ModTime().UnixNano())
	}
}

// Value is what work returns, or what it returned in an earlier run for the same of. All that work goes by must be in of, as
// exported fields that JSON writes; T is written by gob: exported fields, and an empty slice comes back as nil. Errors are not kept.
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

// keep writes a file whole, or not at all, and removes old ones.
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
