package page

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"

	"hueward/selection/book"
)

//go:embed assets templates
var files embed.FS

//go:embed assets/night.css
var nightStyle string

// request is one request of a device that was let in.
type request struct {
	*Server
	w      http.ResponseWriter
	r      *http.Request
	device *device
	b      *book.Book // changes are noted as the device's
}

func (q *request) ctx() context.Context { return q.r.Context() }

// do is how a page is made or a form is taken.
type do func(q *request) error

// wrongError is what the person at the page can put right; everything else is ours.
type wrongError struct {
	status int
	text   string
}

func (e *wrongError) Error() string { return e.text }

func wrongf(format string, args ...any) error {
	return &wrongError{http.StatusBadRequest, fmt.Sprintf(format, args...)}
}

func notFound(format string, args ...any) error {
	return &wrongError{http.StatusNotFound, fmt.Sprintf(format, args...)}
}

func (s *Server) routes() http.Handler {
	m := http.NewServeMux()
	get := func(path string, f do) { m.Handle("GET "+path, s.inside(f)) }
	// post takes a form of at most 1 MiB; a photo's route says itself how much it takes.
	post := func(path string, f do) { m.Handle("POST "+path, s.inside(s.form(f))) }
	get("/{$}", func(q *request) error { return q.to("/today") })
	get("/more", (*request).more)
	post("/look", (*request).setLook)
	get("/today", (*request).today)
	post("/today", (*request).todayDone)
	get("/photos", (*request).photos)
	m.Handle("POST /photos", s.inside((*request).addPhotos))
	get("/photos/{id}", (*request).photo)
	get("/photos/{id}/{size}", (*request).picture)
	post("/photos/{id}/correct", (*request).correct)
	post("/photos/{id}/plant", (*request).assign)
	post("/photos/{id}/remove", (*request).removePhoto)
	get("/plants", (*request).plants)
	post("/plants", (*request).addPlants)
	post("/status", (*request).status)
	get("/plants/{id}", (*request).plant)
	post("/plants/{id}/note", (*request).note)
	post("/plants/{id}/score", (*request).score)
	get("/scan", (*request).scan)
	m.Handle("POST /scan", s.inside((*request).scanned))
	get("/heads", (*request).heads)
	post("/heads", (*request).headDone)
	get("/crosses", (*request).crosses)
	post("/crosses", (*request).addCross)
	get("/packets", (*request).packets)
	post("/packets", (*request).packetDone)
	get("/pairs", (*request).pairs)
	post("/pairs", (*request).makeCrosses)
	get("/plan", (*request).plan)
	get("/drift", (*request).drift)
	get("/target", (*request).target)
	get("/target/plane.png", (*request).plane)
	m.Handle("POST /target", s.inside((*request).setTarget))
	get("/print", (*request).print)
	get("/print/{sheet}", (*request).sheet)
	get("/keep", (*request).keep)
	post("/keep/backup", (*request).backup)
	get("/keep/{file}", (*request).download)
	get("/history", (*request).history)
	post("/undo", (*request).undo)
	get("/devices", (*request).devices)
	post("/devices/forget", (*request).forget)
	m.Handle("GET /live", s.inside(func(q *request) error { q.serveLive(q.w, q.r); return nil }))
	m.Handle("GET /join", http.HandlerFunc(s.join))
	m.Handle("POST /join", http.HandlerFunc(s.joined))
	m.Handle("GET /assets/{name}", http.HandlerFunc(s.asset))
	m.Handle("/", s.inside(func(*request) error { return notFound("There is no such page.") }))
	return s.guard(m)
}

const formBytes = 1 << 20

// form takes a form with the device's token.
func (s *Server) form(f do) do {
	return func(q *request) error {
		q.r.Body = http.MaxBytesReader(q.w, q.r.Body, formBytes)
		if err := q.r.ParseForm(); err != nil {
			return tooLarge(err)
		}
		if err := q.checkToken(q.r.PostFormValue("token")); err != nil {
			return err
		}
		return f(q)
	}
}

func (q *request) checkToken(token string) error {
	if !q.door.Holds(q.device.Device, token) {
		return &wrongError{http.StatusForbidden, "This form is of an earlier time, or of another page. Load the page anew and fill it in again."}
	}
	return nil
}

func tooLarge(err error) error {
	var most *http.MaxBytesError
	if errors.As(err, &most) {
		return &wrongError{http.StatusRequestEntityTooLarge, fmt.Sprintf("That is more than %d MiB at once. Send less.", most.Limit>>20)}
	}
	if errors.Is(err, os.ErrDeadlineExceeded) || errors.Is(err, io.ErrUnexpectedEOF) {
		return &wrongError{http.StatusRequestTimeout, "What was sent broke off. Send it again."}
	}
	return wrongf("What was sent is no form. Send it again.")
}

// to sends the browser on, after a form was taken.
func (q *request) to(path string) error {
	http.Redirect(q.w, q.r, path, http.StatusSeeOther)
	return nil
}

// back sends it to the page of this server that the form names, or to another.
func (q *request) back(path string) error {
	if b := q.r.PostFormValue("back"); strings.HasPrefix(b, "/") && !strings.HasPrefix(b, "//") && !strings.ContainsAny(b, "\\\r\n") {
		path = b
	}
	return q.to(path)
}

// done says on the next page what was done, which can be taken back there.
func (q *request) done(format string, args ...any) {
	s := &said{Text: fmt.Sprintf(format, args...)}
	// Another device may have entered something meanwhile: it is the newest of this one.
	if h, err := q.b.History(q.ctx(), 5); err == nil {
		for _, c := range h {
			if c.Who == q.whoIs(q.device) && c.Undoes == 0 && !c.Undone {
				s.Change = c.ID
				break
			}
		}
	}
	q.device.tell(s)
}

// mention says something on the next page that cannot be taken back.
func (q *request) mention(format string, args ...any) {
	q.device.tell(&said{Text: fmt.Sprintf(format, args...)})
}

// fail tells of an error, on the page that a form came from where there is one.
func (q *request) fail(err error) {
	status := http.StatusInternalServerError
	var wrong *wrongError
	switch {
	case errors.As(err, &wrong):
		status = wrong.status
	case errors.Is(err, book.ErrNotFound):
		status = http.StatusNotFound
	case errors.Is(err, book.ErrBusy):
		status = http.StatusServiceUnavailable
	case q.ctx().Err() != nil:
		return // nobody listens any more
	default:
		// What the book refuses is shown in its words: a wrong name, a wrong day.
		status = http.StatusConflict
	}
	if q.wantsJSON() {
		q.json(status, map[string]string{"error": sentence(err.Error())})
		return
	}
	if q.r.Method == http.MethodPost && status != http.StatusForbidden && q.r.PostForm != nil {
		if b := q.r.PostFormValue("back"); b != "" {
			q.device.tell(&said{Text: sentence(err.Error()), Wrong: true})
			if q.back("/today") == nil {
				return
			}
		}
	}
	if e := q.renderStatus(status, "error", "That did not work", sentence(err.Error())); e != nil {
		http.Error(q.w, sentence(err.Error()), status)
	}
}

// sentence begins with a capital and ends with a point.
func sentence(s string) string {
	if s == "" {
		return s
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

func (q *request) wantsJSON() bool {
	return wantsJSON(q.r)
}
