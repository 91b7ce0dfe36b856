package disk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Incoming is a finished copy under a temporary name.
type Incoming struct {
	temp   string
	SHA256 string // in hex
	Bytes  int64
	time   time.Time // modification time of the original
}

// Discard removes the copy; after MoveTo it does nothing.
func (in *Incoming) Discard() { Remove(in.temp) }

// Receive copies the file into dir under a temporary name, synced and read-only.
// It leaves nothing behind if it fails.
func Receive(ctx context.Context, file, dir string) (*Incoming, error) {
	in, err := copied(ctx, file, func() (*File, error) {
		if err := MkdirAll(dir, 0o777); err != nil {
			return nil, err
		}
		return CreateTemp(dir, "photo-*")
	})
	if err != nil {
		return nil, err
	}
	if err := Chmod(in.temp, 0o444); err != nil { // originals are never changed
		in.Discard()
		return nil, err
	}
	return in, nil
}

// openRegular opens an ordinary file.
func openRegular(file string) (*File, fs.FileInfo, error) {
	// A pipe would wait for its writer when it is opened.
	if info, err := Stat(file); err != nil {
		return nil, nil, err
	} else if !info.Mode().IsRegular() {
		return nil, nil, errNotOrdinary
	}
	f, err := Open(file)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return f, info, nil
}

// copied copies an ordinary file into the one that create makes, then syncs and closes it. It leaves nothing behind if
// it fails.
func copied(ctx context.Context, file string, create func() (*File, error)) (_ *Incoming, err error) {
	src, info, err := openRegular(file)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	dst, err := create()
	if err != nil {
		return nil, err
	}
	in := &Incoming{temp: dst.Name(), time: info.ModTime()}
	defer func() {
		dst.Close()
		if err != nil {
			in.Discard()
		}
	}()
	h := sha256.New()
	if in.Bytes, err = io.Copy(io.MultiWriter(dst, h), &contextReader{ctx, src}); err != nil {
		return nil, err
	}
	in.SHA256 = hex.EncodeToString(h.Sum(nil))
	return in, dst.Finish()
}

// contextReader stops reading when its context ends.
type contextReader struct {
	ctx context.Context
	r   io.Reader
}

func (c *contextReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}

// Placed is a file that was moved to its place, and can be taken away again by Undo.
type Placed struct {
	file string
	made []string // folders made for it
	kept bool     // the file was there before
}

// Kept returns a Placed for a file that was in its place before; its Undo does nothing.
func Kept(file string) *Placed { return &Placed{file: file, kept: true} }

// MoveTo moves the copy to its place, where there must be nothing yet; folders are
// made as needed, and removed again if it fails.
func (in *Incoming) MoveTo(file string) (_ *Placed, err error) {
	p := &Placed{file: file, kept: true}
	defer func() {
		if err != nil {
			p.Undo()
		}
	}()
	dir := filepath.Dir(file)
	if p.made, err = MakeDirs(dir, nil); err != nil {
		return nil, err
	}
	if err := Rename(in.temp, file); err != nil {
		return nil, err
	}
	p.kept = false
	Chtimes(file, time.Time{}, in.time) // for people who look at the folder; errors do not matter
	SyncDir(dir)
	return p, nil
}

// Undo takes the file away again, and the folders made for it when empty.
func (p *Placed) Undo() {
	if p == nil {
		return
	}
	if !p.kept {
		Remove(p.file)
	}
	for i := len(p.made) - 1; i >= 0; i-- {
		Remove(p.made[i])
	}
}

// Sum returns the SHA-256 of a file's content, in hex.
func Sum(file string) (string, error) {
	f, err := Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// Readable reports whether the file is an ordinary one that can be read to its end.
func Readable(file string) bool {
	f, _, err := openRegular(file)
	if err != nil {
		return false
	}
	defer f.Close()
	_, err = io.Copy(io.Discard, f)
	return err == nil
}

// Holds reports whether the file is an ordinary one of that size and sum.
func Holds(file string, bytes int64, sha256 string) bool {
	info, err := Lstat(file)
	if err != nil || !info.Mode().IsRegular() || info.Size() != bytes {
		return false
	}
	sum, err := Sum(file)
	return err == nil && sum == sha256
}

// CopyWhole copies a file whose content has the SHA-256 sum to a new place; if the file is missing or
// has other content, it copies nothing and whole is false.
func CopyWhole(ctx context.Context, from, to, sha256 string) (whole bool, err error) {
	if _, err := Stat(from); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	in, err := copied(ctx, from, func() (*File, error) { return OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666) })
	if err != nil {
		return false, err
	}
	if in.SHA256 != sha256 {
		return false, Remove(to)
	}
	Chtimes(to, time.Time{}, in.time) // errors do not matter, as in MoveTo
	return true, nil
}

// Copy copies a file to another, replacing it if it exists, and syncs it.
func Copy(ctx context.Context, from, to string) error {
	_, err := copied(ctx, from, func() (*File, error) { return Create(to) })
	return err
}
