package page

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
)

// parts reads a form with photos, of at most so many: each is called with every one, in a file that is gone afterwards,
// and ends the reading when it wants no more. fields are the other fields as they come. The device's token must stand
// before the first photo: nothing is read of a stranger's.
func (q *request) parts(most int, each func(file string, fields map[string]string) (more bool, err error)) (fields map[string]string,
	err error) {
	q.r.Body = http.MaxBytesReader(q.w, q.r.Body, int64(most)*q.opt.Limits.Bytes+formBytes)
	parts, err := q.r.MultipartReader()
	if err != nil {
		return nil, wrongf("Choose a picture.")
	}
	fields = map[string]string{}
	q.r.PostForm = url.Values{} // what is typed beside the files
	for more, n := true, 0; more; {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, tooLarge(err)
		}
		if part.FileName() == "" {
			text, err := io.ReadAll(io.LimitReader(part, 4096))
			if err != nil {
				return nil, tooLarge(err)
			}
			fields[part.FormName()] = string(text) // an empty file field, too
			q.r.PostForm.Set(part.FormName(), string(text))
			continue
		}
		if err := q.checkToken(fields["token"]); err != nil {
			return nil, err
		}
		if n++; n > most {
			return nil, &wrongError{http.StatusRequestEntityTooLarge, fmt.Sprintf("At most %d photos at once. The first ones are kept; send "+
				"the rest after them.", most)}
		}
		if more, err = q.received(part, fields, each); err != nil {
			return nil, err
		}
	}
	return fields, q.checkToken(fields["token"])
}

// received calls each with a photo that is sent, in a file of its own name as far as that is safe.
func (q *request) received(part *multipart.Part, fields map[string]string, each func(file string, fields map[string]string) (bool,
	error)) (more bool, err error) {
	dir, err := os.MkdirTemp("", "hueward-")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, safeName(part.FileName()))
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return false, err
	}
	n, err := io.Copy(f, io.LimitReader(part, q.opt.Limits.Bytes+1))
	err = cmp.Or(err, f.Close())
	switch {
	case n > q.opt.Limits.Bytes:
		return false, &wrongError{http.StatusRequestEntityTooLarge,
			fmt.Sprintf("A photo of more than %d MiB is not taken.", q.opt.Limits.Bytes>>20)}
	case err != nil:
		return false, tooLarge(err)
	}
	return each(file, fields)
}
