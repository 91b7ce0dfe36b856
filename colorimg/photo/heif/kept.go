package heif

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"time"

	"github.com/tetratelabs/wazero"
)

// Compiled code is kept in a folder of its own below the user's cache folder, one for each module, version of wazero and
// kind of machine; wazero's own file lies in it, and beside that the sums of all that the folder holds. A folder is made
// under another name and renamed when it is whole, so that programs that run at the same time never see half of one. One
// whose sums do not fit is thrown away. Whatever goes wrong, the code is compiled without being kept.

const (
	keptIn    = "hueward"
	keptSums  = "sums"
	keptDays  = 60 // a folder that no program made anew for so long is of an older version
	keptStart = "heic-"
)

// keptCode returns a cache that holds the compiled module, read from below dir or compiled and kept there; nil: it cannot be kept.
func keptCode(dir string, sum [sha256.Size]byte, compile func(wazero.CompilationCache) error) wazero.CompilationCache {
	if dir == "" {
		return nil
	}
	dir = filepath.Join(dir, keptIn)
	name := filepath.Join(dir, keptStart+hex.EncodeToString(sum[:8])+"-"+runtimeVersion()+"-"+runtime.GOOS+"-"+runtime.GOARCH)
	if c := openKept(name, compile); c != nil {
		return c
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil
	}
	fresh, err := os.MkdirTemp(dir, keptStart+"new-")
	if err != nil {
		return nil
	}
	defer os.RemoveAll(fresh)
	c, err := wazero.NewCompilationCacheWithDir(fresh)
	if err != nil {
		return nil
	}
	if err := compile(c); err != nil {
		c.Close(context.Background())
		return nil
	}
	// From here on the cache is good, kept or not.
	if sums, err := sumsOf(fresh); err == nil && os.WriteFile(filepath.Join(fresh, keptSums), []byte(sums), 0o600) == nil {
		os.Rename(fresh, name)
		sweep(dir, name)
	}
	return c
}

// openKept reads a folder of compiled code; nil: there is none that is sound, and none is left.
func openKept(name string, compile func(wazero.CompilationCache) error) wazero.CompilationCache {
	fi, err := os.Lstat(name)
	if err != nil {
		return nil
	}
	closed := fi.IsDir() && (runtime.GOOS == "windows" || fi.Mode().Perm()&0o022 == 0) // to others
	if want, err := os.ReadFile(filepath.Join(name, keptSums)); err == nil && closed {
		if got, err := sumsOf(name); err == nil && got == string(want) && got != "" {
			if c, err := wazero.NewCompilationCacheWithDir(name); err == nil {
				if compile(c) == nil {
					return c
				}
				c.Close(context.Background())
			}
		}
	}
	os.RemoveAll(name)
	return nil
}

// sumsOf lists the files in a folder, but for that of the sums, each with its sum.
func sumsOf(dir string) (string, error) {
	var list strings.Builder
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || path == filepath.Join(dir, keptSums) {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		h := sha256.New()
		if _, err := io.Copy(h, f); err != nil {
			return err
		}
		list.WriteString(hex.EncodeToString(h.Sum(nil)) + " " + filepath.Base(path) + "\n")
		return nil
	})
	return list.String(), err
}

// sweep removes folders of older versions, and those that a program left half made, but for the named one.
func sweep(dir, but string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		fi, err := e.Info()
		if err != nil || path == but || !e.IsDir() || !strings.HasPrefix(e.Name(), keptStart) {
			continue
		}
		if time.Since(fi.ModTime()) > keptDays*24*time.Hour {
			os.RemoveAll(path)
		}
	}
}

// runtimeVersion is the version of wazero in this program.
func runtimeVersion() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, d := range info.Deps {
			if d.Path == "github.com/tetratelabs/wazero" {
				return d.Version
			}
		}
	}
	return "dev"
}
