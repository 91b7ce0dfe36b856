package page

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// live tells those who listen that the book has changed.
type live struct {
	mu      sync.Mutex
	ears    map[chan string]bool
	version string
	closed  bool
}

const (
	mostEars = 100
	lookBook = 2 * time.Second // how often other programs' changes are looked for
)

func newLive() *live { return &live{ears: map[chan string]bool{}} }

// set tells the book's version; those who listen hear it where it is new.
func (l *live) set(version string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if version == l.version {
		return
	}
	l.version = version
	for c := range l.ears {
		select {
		case <-c: // an older one that was not fetched yet
		default:
		}
		c <- version
	}
}

// listen returns where versions are heard; nil: too many listen, or none may any more.
func (l *live) listen() chan string {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed || len(l.ears) >= mostEars {
		return nil
	}
	c := make(chan string, 1)
	c <- l.version
	l.ears[c] = true
	return c
}

func (l *live) leave(c chan string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.ears[c] {
		delete(l.ears, c)
		close(c)
	}
}

func (l *live) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for c := range l.ears {
		delete(l.ears, c)
		close(c)
	}
}

// watch looks for what other programs change.
func (s *Server) watch(ctx context.Context) {
	t := time.NewTicker(lookBook)
	defer t.Stop()
	for {
		s.changed(ctx)
		s.warm(ctx)
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
	}
}

// changed tells those who listen, if the book has changed.
func (s *Server) changed(ctx context.Context) {
	if v, err := s.version(ctx); err == nil {
		s.live.set(v)
	}
}

// version is the book's version on this day, as what is due is another thing tomorrow.
func (s *Server) version(ctx context.Context) (string, error) {
	v, err := s.b.Version(ctx)
	return v + " " + s.opt.Now().Format(time.DateOnly), err
}

// serveLive sends the book's version whenever it changes, as server-sent events.
//
// Source: HTML Living Standard, section 9.2, "Server-sent events".
func (s *Server) serveLive(w http.ResponseWriter, r *http.Request) {
	c := s.live.listen()
	if c == nil {
		http.Error(w, "too many pages are open", http.StatusServiceUnavailable)
		return
	}
	defer s.live.leave(c)
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	fmt.Fprint(w, "retry: 3000\n\n")
	beat := time.NewTicker(20 * time.Second)
	defer beat.Stop()
	for {
		if err := out.Flush(); err != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case v, ok := <-c:
			if !ok {
				return
			}
			fmt.Fprintf(w, "event: book\ndata: %s\n\n", v)
		case <-beat.C:
			fmt.Fprint(w, ": still here\n\n")
		}
	}
}
