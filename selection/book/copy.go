package book

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// incomingName is the folder under photos/ in which copies are made before
// they are moved to their place, so that a photo is there whole or not at
// all. No plant's or season's name begins with a full stop.
const incomingName = ".incoming"

// unassignedName stands for the plant of a photo that shows an unknown one.
const unassignedName = "_unassigned"

// incoming is a finished copy that has no place yet.
type incoming struct {
	temp   string
	sha256 string
	bytes  int64
	time   time.Time // of the original
}

func (in *incoming) discard() { os.Remove(in.temp) }

// receive copies the file into the book's incoming folder, synced. It leaves nothing when it fails.
func (b *Book) receive(ctx context.Context, file string) (_ *incoming, err error) {
	src, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	info, err := src.Stat()
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is not an ordinary file")
	}
	dir := filepath.Join(b.dir, photosName, incomingName)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, err
	}
	dst, err := os.CreateTemp(dir, "photo-*")
	if err != nil {
		return nil, err
	}
	defer func() {
		dst.Close()
		if err != nil {
			os.Remove(dst.Name())
		}
	}()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(dst, sum), &contextReader{ctx, src})
	if err != nil {
		return nil, diskFull(err)
	}
	if err := dst.Sync(); err != nil {
		return nil, diskFull(err)
	}
	if err := dst.Close(); err != nil {
		return nil, err
	}
	if err := os.Chmod(dst.Name(), 0o444); err != nil { // originals are never changed
		return nil, err
	}
	return &incoming{dst.Name(), hex.EncodeToString(sum.Sum(nil)), n, info.ModTime()}, nil
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

// placed is a photo that was moved to its place, until its row is committed.
type placed struct {
	path string // in the book, with forward slashes
	file string
	made []string // folders made for it
	kept bool     // the file was there before
}

// undo takes the photo away again, and the folders made for it when empty.
func (p *placed) undo() {
	if p == nil {
		return
	}
	if !p.kept {
		os.Remove(p.file)
	}
	for i := len(p.made) - 1; i >= 0; i-- {
		os.Remove(p.made[i])
	}
}

// place moves the copy to photos/<season>/<plant>/<name>, with a number in the
// name when there is such a file already. A file of the very same content
// there is one that an interrupted run left behind, and is taken over. Called
// in a write transaction, so no other writer is at it.
func (b *Book) place(tx *sql.Tx, in *incoming, e Entry) (_ *placed, err error) {
	plant := unassignedName
	if e.Plant != "" {
		// As the book spells it, so that "m-1" and "M-1" share a folder.
		if err := tx.QueryRow("SELECT name FROM plant WHERE key = ?", key(e.Plant)).Scan(&plant); err != nil {
			return nil, err
		}
		plant = notReserved(plant)
	}
	season := notReserved(e.Season)
	if err := tx.QueryRow("SELECT name FROM season WHERE key = ?", key(e.Season)).Scan(&season); err == nil {
		season = notReserved(season)
	} else if !errors.Is(err, sql.ErrNoRows) {
		return nil, err
	}
	p := &placed{}
	defer func() {
		if err != nil {
			p.kept = p.kept || p.file == ""
			p.undo()
		}
	}()
	dir := filepath.Join(b.dir, photosName, season, plant)
	if p.made, err = makeDirs(dir, nil); err != nil {
		return nil, err
	}
	name := SafeName(filepath.Base(e.File))
	ext := path.Ext(name)
	for i := 1; ; i++ {
		try := name
		if i > 1 {
			try = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), i, ext)
		}
		rel := path.Join(photosName, season, plant, try)
		file := filepath.Join(dir, try)
		var taken int
		if err := tx.QueryRow("SELECT count(*) FROM photo WHERE path = ?", rel).Scan(&taken); err != nil {
			return nil, err
		}
		if taken > 0 {
			continue
		}
		switch _, err := os.Lstat(file); {
		case err == nil && sameContent(file, in):
			p.path, p.file, p.kept = rel, file, true
			return p, nil
		case err == nil:
			continue
		case !errors.Is(err, fs.ErrNotExist):
			return nil, err
		}
		if err := os.Rename(in.temp, file); err != nil {
			return nil, err
		}
		p.path, p.file = rel, file
		os.Chtimes(file, time.Time{}, in.time) // a courtesy; the book does not rely on it
		syncDir(dir)
		return p, nil
	}
}

func sameContent(file string, in *incoming) bool {
	info, err := os.Lstat(file)
	if err != nil || !info.Mode().IsRegular() || info.Size() != in.bytes {
		return false
	}
	sum, err := FileSum(file)
	return err == nil && sum == in.sha256
}

// FileSum returns the SHA-256 of a file's content, in hex, as photos are known by.
func FileSum(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// syncDir makes a rename in dir last through a power cut, where the system
// can; not all can sync a folder, and then there is nothing to do.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// clearIncoming removes copies that an interrupted run left over a day ago;
// younger ones may be another program's.
func (b *Book) clearIncoming() {
	dir := filepath.Join(b.dir, photosName, incomingName)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && b.now().Sub(info.ModTime()) > 24*time.Hour {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
}

// SafeName returns a file name that every system can hold and that stays in
// its folder: no separators, control or reserved characters, no leading or
// trailing full stop or space, at most 120 bytes. The extension is kept.
func SafeName(name string) string {
	name = strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError, unicode.IsControl(r), strings.ContainsRune(`/\<>:"|?*`, r):
			return '_'
		}
		return r
	}, norm.NFC.String(strings.ToValidUTF8(name, "_")))
	name = strings.Trim(name, ". ")
	ext := path.Ext(name)
	if len(ext) > 12 {
		ext = ""
	}
	stem := strings.TrimRight(strings.TrimSuffix(name, ext), ". ")
	for len(stem)+len(ext) > 120 {
		_, n := utf8.DecodeLastRuneInString(stem)
		stem = stem[:len(stem)-n]
	}
	if stem == "" {
		stem = "photo"
	}
	return notReserved(stem) + ext
}

// notReserved changes a name that Windows keeps for devices.
func notReserved(name string) string {
	head, _, _ := strings.Cut(strings.ToUpper(name), ".")
	switch head {
	case "CON", "PRN", "AUX", "NUL":
		return name + "_"
	}
	if len(head) == 4 && (strings.HasPrefix(head, "COM") || strings.HasPrefix(head, "LPT")) && head[3] >= '0' && head[3] <= '9' {
		return name + "_"
	}
	return name
}
