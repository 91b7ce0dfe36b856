package book

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"time"
)

// copyPhoto copies a photo out of the book; whole is false, and nothing copied,
// where the file is missing or not of that content.
func copyPhoto(ctx context.Context, from, to, sum string) (whole bool, err error) {
	src, err := os.Open(from)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer src.Close()
	info, err := src.Stat()
	if err != nil {
		return false, err
	}
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return false, err
	}
	defer dst.Close()
	h := sha256.New()
	if _, err := io.Copy(io.MultiWriter(dst, h), &contextReader{ctx, src}); err != nil {
		return false, err
	}
	if hex.EncodeToString(h.Sum(nil)) != sum {
		return false, os.Remove(to)
	}
	if err := dst.Sync(); err != nil {
		return false, err
	}
	os.Chtimes(to, time.Time{}, info.ModTime()) // a courtesy
	return true, dst.Close()
}
