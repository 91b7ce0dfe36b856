package page

import (
	"context"
	"embed"
	"fmt"
	"net/http"

	"hueward/report/page/enter"
	"hueward/selection/ask"
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
	asked  book.Request
	err    error // of what was asked first that could not be answered, see [query]
}

func (q *request) ctx() context.Context { return q.r.Context() }

// query asks the book as package ask does. A page that only shows what it asks for leaves it to render to look at the error.
func query[T any](q *request, f func(context.Context) (T, error)) T {
	return ask.For(q.ctx(), &q.err, f)
}

// queryOf asks the book for what is of a season, a name or the like.
func queryOf[T, A any](q *request, f func(context.Context, A) (T, error), of A) T {
	return ask.Of(q.ctx(), &q.err, f, of)
}

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
	post := func(path string, f do) { m.Handle("POST "+path, s.inside(s.form((*request).once, f))) }
	// A list is entered part by part, each of them once.
	postList := func(path string, f do) { m.Handle("POST "+path, s.inside(s.form((*request).byParts, f))) }
	get("/{$}", func(q *request) error { return q.to("/today") })
	get("/more", (*request).more)
	post("/look", (*request).setLook)
	get("/today", (*request).today)
	post("/today", (*request).todayDone)
	get("/photos", (*request).photos)
	m.Handle("POST /photos", s.inside((*request).addPhotos))
	get("/photos/{id}", (*request).photo)
	get("/photos/{id}/{size}", ofPhoto((*request).picture))
	post("/photos/{id}/correct", ofPhoto((*request).correct))
	post("/photos/{id}/outline", ofPhoto((*request).outline))
	post("/photos/{id}/plant", ofPhoto((*request).assign))
	post("/photos/{id}/remove", ofPhoto((*request).removePhoto))
	get("/plants", (*request).plants)
	get("/known", (*request).known)
	postList("/plants", (*request).addPlants)
	post("/status", (*request).status)
	get("/plants/{id}", (*request).plant)
	post("/plants/{id}/note", (*request).note)
	post("/plants/{id}/mend", (*request).mendPlant)
	post("/lines", (*request).mendLine)
	post("/plants/{id}/score", (*request).score)
	get("/scan", (*request).scan)
	m.Handle("POST /scan", s.inside((*request).scanned))
	get("/heads", (*request).heads)
	post("/heads", (*request).headDone)
	get("/crosses", (*request).crosses)
	post("/crosses", (*request).addCross)
	get("/packets", (*request).packets)
	post("/packets", entered(enter.Packet, "/packets"))
	get("/pollen", (*request).pollen)
	post("/pollen", entered(enter.Pollen, "/pollen"))
	get("/crops", (*request).crops)
	post("/crops", entered(enter.Crops, "/crops"))
	get("/crops/{name}", (*request).crop)
	post("/crops/values", entered(enter.CropValues, "/crops"))
	post("/place", entered(enter.Place, "/plants"))
	post("/clones", entered(enter.Clones, "/plants"))
	get("/pairs", (*request).pairs)
	postList("/pairs", (*request).makeCrosses)
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
	get("/guide", (*request).guideList)
	get("/guide/{topic}", (*request).guideText)
	get("/taken", (*request).taken)
	post("/devices/forget", (*request).forget)
	m.Handle("GET /live", s.inside(func(q *request) error { q.serveLive(q.w, q.r); return nil }))
	m.Handle("GET /join", http.HandlerFunc(s.join))
	m.Handle("POST /join", http.HandlerFunc(s.joined))
	m.Handle("GET /assets/{name}", http.HandlerFunc(s.asset))
	m.Handle("/", s.inside(func(*request) error { return notFound("There is no such page.") }))
	return s.guard(m)
}
