package page

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"strings"
	"sync"
	"time"

	"hueward/report"
	"hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// cache holds results for the present version of the book: every device asks for a
// line's ranking, which changes only when the book does.
type cache struct {
	mu      sync.Mutex
	version string
	kept    map[string]*kept
}

// kept is one result, or one that is being worked out.
type kept struct {
	once sync.Once
	v    any
	err  error
}

func newCache() *cache { return &cache{kept: map[string]*kept{}} }

// get returns the result of f for a version of the book, cached where that version was
// asked for before. Simultaneous calls wait for one result.
func (c *cache) get(version, key string, f func() (any, error)) (any, error) {
	c.mu.Lock()
	if version != c.version {
		c.version, c.kept = version, map[string]*kept{}
	}
	k := c.kept[key]
	if k == nil {
		if len(c.kept) > 200 {
			c.kept = map[string]*kept{}
		}
		k = &kept{}
		c.kept[key] = k
	}
	c.mu.Unlock()
	defer func() {
		if k.err != nil { // it may go better next time
			c.mu.Lock()
			defer c.mu.Unlock()
			if c.kept[key] == k {
				delete(c.kept, key)
			}
		}
	}()
	k.once.Do(func() {
		k.err = errBrokeOff // unless f comes to its end: others must not take its nothing for an answer
		k.v, k.err = f()
	})
	return k.v, k.err
}

// errBrokeOff is returned to calls that waited for a result that was not completed.
var errBrokeOff = errors.New("this could not be computed; reload the page")

// carry copies results whose keys begin with word to the book's next version, as they do not
// depend on what has changed.
func (c *cache) carry(from, to, word string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.version != from {
		return
	}
	c.version = to
	for k := range c.kept {
		if !strings.HasPrefix(k, word) {
			delete(c.kept, k)
		}
	}
}

// untouched calls f, which changes nothing that rankings depend on, and carries the rankings
// over to the new version, unless anything else was entered meanwhile.
func (q *request) untouched(f func() error) error {
	before := query(q, q.b.Version)
	if q.err == nil {
		q.err = f()
	}
	if after := query(q, q.b.Version); q.err == nil && book.OneChange(before, after) {
		q.cache.carry(before, after, rankKey)
	}
	return q.err
}

// rankKey is the prefix of the keys of rankings before crosses are chosen. Notes and statuses do not change these, except
// the statuses lost and off-type.
const rankKey = "rank "

// remember is cache.get for the present version of the book.
func remember[T any](ctx context.Context, s *Server, key string, f func(ctx context.Context) (T, error)) (out T, err error) {
	version, err := s.b.Version(ctx)
	if err != nil {
		return out, err
	}
	v, err := s.cache.get(version, key, func() (any, error) {
		return f(context.WithoutCancel(ctx)) // others may wait for it, too
	})
	if err != nil {
		return out, err
	}
	return v.(T), nil
}

// ranked is a line's season, ranked, and as the report shows it.
type ranked struct {
	*garden.Season
	Report *report.Season
	drawn  *drawnRows
}

// drawnRows are rows of plants as the list shows them, by id, status, advice and its reason.
type drawnRows struct {
	mu   sync.Mutex
	rows map[string]template.HTML
}

// judged is a ranking before crosses are chosen, with the rows that were drawn for it.
type judged struct {
	*garden.Season
	drawn drawnRows
}

// ranking returns the ranking of a line's season with the crosses to make; season empty: the newest with readings. Plants
// are ranked once, since that takes long; crosses are chosen again for each version of the book.
func (s *Server) ranking(ctx context.Context, line, season string) (*ranked, error) {
	return remember(ctx, s, fmt.Sprintf("decided %q %q", line, season), func(ctx context.Context) (*ranked, error) {
		// Judged within, so that a book that changes meanwhile is not decided by what was judged before.
		j, err := remember(ctx, s, fmt.Sprintf(rankKey+"%q %q", line, season), func(ctx context.Context) (*judged, error) {
			r, err := garden.Judge(ctx, s.b, &garden.Options{Line: line, Season: season})
			return &judged{Season: r, drawn: drawnRows{rows: map[string]template.HTML{}}}, err
		})
		if err != nil {
			return nil, err
		}
		r, err := j.Decided(ctx, s.b, nil)
		if err != nil {
			return nil, err
		}
		return &ranked{Season: r, Report: compose.Season(r, s.opt.Now(), s.opt.Version), drawn: &j.drawn}, nil
	})
}

// warm works out the ranking that was looked at last, after a change and while nothing is measured, so
// that it is ready when somebody asks. Where that takes too long, it is left until somebody does.
func (s *Server) warm(ctx context.Context) {
	version, err := s.b.Version(ctx)
	was := s.seen.Load()
	v := *was
	if err != nil || len(s.work) > 0 || v.version == version || v.slow {
		return
	}
	if v.line == "" {
		lines, err := s.b.Lines(ctx)
		if err != nil || len(lines) == 0 {
			return
		}
		v.line = firstLine(lines)
	}
	start := time.Now()
	if _, err := s.list(ctx, v.line, v.season, "", "", ""); err == nil {
		v = seen{was.lookedAt, version, time.Since(start) > mostWarming}
		s.seen.CompareAndSwap(was, &v) // unless another was looked at meanwhile
	}
}

// mostWarming is how long a ranking may take to be worked out before it is asked for:
// the time between two checks of the book.
const mostWarming = lookBook

// seen is the list of plants that was looked at last, and the book's version for which it is ready.
type seen struct {
	lookedAt
	version string
	slow    bool // it took long: not again
}
