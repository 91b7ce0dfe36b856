package page

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"net"
	"net/http"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"time"

	"hueward/colorimg/photo"
	"hueward/report/page/door"
	"hueward/selection/book"
)

// Options say how the book is served. The zero value, like nil, is the usual case.
type Options struct {
	Now     func() time.Time // nil: time.Now
	Version string           // of the program, for the foot of the page
	Who     string           // the user of this machine, for the book's history
	// LAN lets other machines in, once they are paired. Hosts are then the names and
	// addresses, without a port, by which they may call this one; loopback always counts.
	LAN   bool
	Hosts []string
	// Paired is called with the code that the next device may be paired with, whenever
	// there is a new one; nil: nobody is told.
	Paired func(code string)
	Limits Limits
}

// Limits bound what one request may send. A zero field is its default.
type Limits struct {
	Photos int   // in one request; 0: 60
	Bytes  int64 // of one photo; 0: 64 MiB
	Pixels int64 // of one photo; 0: 120 million
	// Stall is how long a device may send nothing in the midst of a form; 0: a minute. In
	// all it may take as long again, and a second more for each KiB.
	Stall time.Duration
}

// Server serves one book. It is made by [New].
type Server struct {
	b      *book.Book
	opt    Options
	door   *door.Door
	visits recent[string, *device]
	// said are the plants that were typed for photos whose tags name others, until the server stops: the question
	// then still has the tag's answer, and a field for any other.
	said    recent[int64, string]
	live    *live
	cache   *cache
	small   recent[string, []byte]  // pictures that were made small
	inHand  recent[int64, *working] // photos that were corrected last, by their numbers
	seen    atomic.Pointer[seen]    // never nil
	work    chan struct{}           // as many photos are measured at a time as there are processors
	drawing chan struct{}           // and as many made into pictures, or looked at for a tag
	handler http.Handler
}

// New returns a server of the book, which stays open and the caller's.
func New(b *book.Book, opt *Options) *Server {
	s := &Server{b: b, visits: recent[string, *device]{most: mostVisits}, said: recent[int64, string]{most: 1000}, cache: newCache(),
		small:  recent[string, []byte]{most: mostPictures, weight: func(b []byte) int { return len(b) }},
		inHand: recent[int64, *working]{most: mostWorkings}, live: newLive(),
		work: make(chan struct{}, runtime.GOMAXPROCS(0)), drawing: make(chan struct{}, runtime.GOMAXPROCS(0))}
	s.seen.Store(&seen{})
	if opt != nil {
		s.opt = *opt
	}
	if s.opt.Now == nil {
		s.opt.Now = time.Now
	}
	l := &s.opt.Limits
	l.Photos, l.Bytes, l.Stall = cmp.Or(l.Photos, 60), cmp.Or(l.Bytes, 64<<20), cmp.Or(l.Stall, time.Minute)
	s.door = door.New(door.Options{Now: s.opt.Now, LAN: s.opt.LAN, Hosts: s.opt.Hosts, Paired: s.opt.Paired,
		File: filepath.Join(b.Dir(), door.FileName)})
	s.handler = s.routes()
	return s
}

func (s *Server) limits() photo.Limits {
	return photo.Limits{Pixels: s.opt.Limits.Pixels, Bytes: s.opt.Limits.Bytes}
}

// Serve answers on all of ln until ctx ends, then lets what was begun come to its end, for
// at most ten seconds. It returns nil when it was stopped so.
func (s *Server) Serve(ctx context.Context, ln ...net.Listener) error {
	watching, stop := context.WithCancel(ctx)
	defer stop()
	go s.watch(watching)
	h := &http.Server{
		Handler: s.handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) },
	}
	done := make(chan error, len(ln))
	for _, l := range ln {
		go func() { done <- h.Serve(l) }()
	}
	select {
	case err := <-done:
		return errors.Join(err, h.Close())
	case <-ctx.Done():
	}
	s.live.close() // those who only listen would never end
	end, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	err := h.Shutdown(end)
	if errors.Is(err, context.DeadlineExceeded) {
		err = h.Close()
	}
	return err
}

// secret is a word that nobody guesses.
func secret() string { return rand.Text() }
