package page

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
)

// parts reads a form with files, of at most so many bytes: each is called with every
// file, and ends the reading when it wants no more. fields are the other fields as they
// come. The device's token must stand before the first file: nothing is read of a
// stranger's.
func (q *request) parts(most int64, each func(file *multipart.Part, fields map[string]string) (more bool,
	err error)) (fields map[string]string, err error) {
	q.r.Body = http.MaxBytesReader(q.w, q.r.Body, most)
	parts, err := q.r.MultipartReader()
	if err != nil {
		return nil, wrongf("Choose a picture.")
	}
	fields = map[string]string{}
	q.r.PostForm = url.Values{} // what is typed beside the files
	for more := true; more; {
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
		if more, err = each(part, fields); err != nil {
			return nil, err
		}
	}
	return fields, q.checkToken(fields["token"])
}
