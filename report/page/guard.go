package page

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"time"

	"hueward/report/page/door"
)

// guard answers only those who call this server by its name and from its own pages, and bounds what a page may do.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "This form does not come from the book's own page.", http.StatusForbidden)
	}))
	inner := cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		// Style attributes carry the measured colours; scripts and style sheets are files of this server alone.
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src "+styleSources()+"; style-src-attr 'unsafe-inline'; "+
			"img-src 'self' blob: data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !s.door.Knows(r.Host) {
			http.Error(w, "The book is not served at this address.", http.StatusMisdirectedRequest)
			return
		}
		if o := r.Header.Get("Origin"); r.Method != http.MethodGet && r.Method != http.MethodHead && o != "" && o != "http://"+r.Host {
			http.Error(w, "This form does not come from the book's own page.", http.StatusForbidden)
			return
		}
		if r.Body != nil && r.Body != http.NoBody {
			// From whoever it is: a body comes in within this time, or is cut off. Those who
			// were let in get more, as they need it.
			http.NewResponseController(w).SetReadDeadline(time.Now().Add(strangersTime))
		}
		inner.ServeHTTP(w, r)
	})
}

// inside answers devices that were let in.
func (s *Server) inside(f do) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		known, answer := s.door.Of(w, r)
		if known == nil {
			s.outside(w, r, answer)
			return
		}
		v := s.visits.of(known.ID, func() *device { return &device{Device: known} })
		r.Body = s.patient(w, r.Body)
		q := &request{Server: s, w: w, r: r, device: v, b: s.b.As(s.whoIs(v)).OneCommand()}
		if line, season := r.URL.Query()["line"], r.URL.Query()["season"]; r.Method == http.MethodGet && (line != nil || season != nil) {
			v.looks.Store(&lookedAt{r.URL.Query().Get("line"), r.URL.Query().Get("season")})
		}
		err := s.b.Moved()
		if err == nil {
			err = f(q)
		}
		if err != nil {
			q.fail(err)
		}
		if r.Method == http.MethodPost {
			s.changed(context.WithoutCancel(r.Context()))
		}
	})
}

// outside answers who was not let in: a script is told so, and nothing that it gets can be
// taken for success; a person is asked for the code. Where another site led here, a page of
// this server's own asks again, on which the browser shows its cookie.
func (s *Server) outside(w http.ResponseWriter, r *http.Request, answer door.Answer) {
	switch {
	case fromScript(r):
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusUnauthorized)
		json.NewEncoder(w).Encode(map[string]string{"error": "This device is not let in any more. Nothing is lost: let it in again.",
			"join": "/join"})
	case answer == door.Elsewhere && r.Method == http.MethodGet && navigates(r):
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		pages().ExecuteTemplate(w, "again.html", "/"+strings.TrimLeft(r.URL.RequestURI(), "/\\"))
	case answer == door.Elsewhere:
		http.Error(w, "This was asked for by another site's page.", http.StatusForbidden)
	default:
		http.Redirect(w, r, "/join", http.StatusSeeOther)
	}
}

// navigates reports whether a person goes to a page, rather than a page to something.
func navigates(r *http.Request) bool {
	m := r.Header.Get("Sec-Fetch-Mode")
	return m == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document" || m == "" && strings.Contains(r.Header.Get("Accept"), "text/html")
}

// fromScript reports whether a script asks, which must not be led to another page.
func fromScript(r *http.Request) bool {
	return wantsJSON(r) || strings.HasPrefix(r.Header.Get("Accept"), "text/event-stream") || r.Header.Get("Hueward-Script") != ""
}

func wantsJSON(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Accept"), "application/json")
}

// strangersTime is how long the body of a request may take whose device is not known.
const strangersTime = 15 * time.Second

// patient is a body of a device that was let in: it may come slowly, as in a garden's far
// corner, but not stand still, nor drip for ever.
func (s *Server) patient(w http.ResponseWriter, body io.ReadCloser) io.ReadCloser {
	if body == nil || body == http.NoBody {
		return body
	}
	return &patience{ReadCloser: body, out: http.NewResponseController(w), stall: s.opt.Limits.Stall}
}

type patience struct {
	io.ReadCloser
	out   *http.ResponseController
	stall time.Duration
	read  int64
	spent time.Duration // in waiting for it
}

func (p *patience) Read(b []byte) (int, error) {
	left := p.stall + time.Duration(p.read)*time.Second/1024 - p.spent
	begun := time.Now()
	p.out.SetReadDeadline(begun.Add(min(p.stall, max(left, 0))))
	n, err := p.ReadCloser.Read(b)
	p.read += int64(n)
	p.spent += time.Since(begun)
	if err != nil { // nothing more is awaited, while the answer may take its time
		p.out.SetReadDeadline(time.Time{})
	}
	return n, err
}

func (s *Server) whoIs(v *device) string {
	if v.Here {
		return s.opt.Who
	}
	return v.Name
}
