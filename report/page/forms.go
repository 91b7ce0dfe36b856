package page

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"strings"
	"syscall"

	"hueward/report/page/enter"
	"hueward/report/page/refill"
	"hueward/report/words"
	"hueward/selection/book"
)

const formBytes = 1 << 20

// form takes a form with the device's token, once.
func (s *Server) form(once func(q *request, f do) error, f do) do {
	return func(q *request) error {
		q.r.Body = http.MaxBytesReader(q.w, q.r.Body, formBytes)
		if err := q.r.ParseForm(); err != nil {
			return tooLarge(err)
		}
		if err := q.checkToken(q.r.PostFormValue("token")); err != nil {
			return err
		}
		return once(q, f)
	}
}

func (q *request) checkToken(token string) error {
	if !q.door.Holds(q.device.Device, token) {
		return &wrongError{http.StatusForbidden, "This form is out of date, or from another page. Reload the page and fill it in again."}
	}
	return nil
}

func tooLarge(err error) error {
	if most, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &wrongError{http.StatusRequestEntityTooLarge, fmt.Sprintf("That is more than %d MiB at once. Send less.", most.Limit>>20)}
	}
	if errors.Is(err, os.ErrDeadlineExceeded) || errors.Is(err, io.ErrUnexpectedEOF) {
		return &wrongError{http.StatusRequestTimeout, "The upload was cut off. Send it again."}
	}
	return wrongf("What was sent is not a form of this page. Send it again.")
}

// to sends the browser on, after a form was taken. A script is told what was done.
func (q *request) to(path string) error {
	if q.r.Method == http.MethodPost && q.wantsJSON() {
		return q.tellDone(path, map[string]any{})
	}
	http.Redirect(q.w, q.r, path, http.StatusSeeOther)
	return nil
}

// tellDone answers a script with what was done, and what else it wants to know.
func (q *request) tellDone(path string, also map[string]any) error {
	version, err := q.version(q.ctx())
	if err != nil {
		return err
	}
	also["done"], also["to"], also["version"] = true, path, version
	if s := q.device.said.Swap(nil); s != nil {
		also["text"], also["change"] = s.Text, s.Change
	}
	return q.json(http.StatusOK, also)
}

// back sends it to the page of this server that the form names, or to another.
func (q *request) back(path string) error { return q.to(q.backOr(path)) }

func (q *request) backOr(path string) string {
	if b := q.r.PostFormValue("back"); strings.HasPrefix(b, "/") && !strings.HasPrefix(b, "//") && !strings.ContainsAny(b, "\\\r\n") {
		return b
	}
	return path
}

// done says on the next page what was done, which can be taken back there; where nothing
// was changed, nothing older is offered instead.
func (q *request) done(format string, args ...any) {
	q.device.said.Store(&said{Text: fmt.Sprintf(format, args...), Change: q.b.Entered()})
}

// mention says something on the next page that cannot be taken back.
func (q *request) mention(format string, args ...any) {
	q.device.said.Store(&said{Text: fmt.Sprintf(format, args...)})
}

// fail tells of an error, on the page that a form came from where there is one: with what was typed in its place.
func (q *request) fail(err error) {
	if _, wrong := errors.AsType[*wrongError](err); q.ctx().Err() != nil && !wrong {
		return // nobody listens any more; whoever was too slow still does
	}
	q.err = nil // the page that tells of it asks anew
	status, text := statusOf(err), words.Sentence(err.Error())
	part, only := errors.AsType[*partError](err)
	if q.wantsJSON() {
		also := map[string]any{"error": text}
		if only {
			also["left"], also["part"] = part.left, true
		}
		if changed, ok := errors.AsType[*book.NoteChangedError](err); ok {
			also["now"] = changed.Now
		}
		q.json(status, also)
		return
	}
	if q.r.Method == http.MethodPost && q.r.PostForm != nil {
		typed := &refill.Typed{Method: http.MethodPost, Path: q.r.URL.Path, Values: maps.Clone(q.r.PostForm)}
		if only {
			maps.Copy(typed.Values, part.left)
		}
		q.device.typed.Store(typed)
		if q.r.PostFormValue("back") != "" {
			s := &said{Text: text, Wrong: true}
			if only {
				s.Part, s.Change = part.done, q.b.Entered()
			}
			q.device.said.Store(s)
			if q.back("/today") == nil {
				return
			}
		}
	}
	if e := q.renderStatus(status, "error", "That did not work", text); e != nil {
		http.Error(q.w, text, status)
	}
}

// statusOf is the HTTP status of an error. What may go better another time is one of the
// server's: whoever waits with something sends it again.
func statusOf(err error) int {
	var file *fs.PathError
	var db interface{ Code() int } // of SQLite
	if wrong, ok := errors.AsType[*wrongError](err); ok {
		return wrong.status
	}
	if _, ok := errors.AsType[*enter.WrongError](err); ok {
		return http.StatusBadRequest
	}
	switch {
	case errors.Is(err, book.ErrNotFound):
		return http.StatusNotFound
	case errors.Is(err, book.ErrBusy), errors.Is(err, book.ErrMoved):
		return http.StatusServiceUnavailable
	case errors.Is(err, syscall.ENOSPC):
		return http.StatusInsufficientStorage
	case errors.As(err, &file), errors.As(err, &db):
		return http.StatusInternalServerError
	}
	// What the book refuses is shown in its words: a wrong name, a wrong day.
	return http.StatusConflict
}

func (q *request) wantsJSON() bool { return wantsJSON(q.r) }
