package heif

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"
)

// Kind is which samples a decoded picture has.
type Kind int

// The kinds: grey; red, green, blue and alpha side by side; luma with chroma of a half the width and height, of half the
// width, or of its own size.
const (
	Gray Kind = iota
	RGBA
	YCbCr420
	YCbCr422
	YCbCr444
)

// halves reports whether chroma has half the width, and half the height.
func (k Kind) halves() (x, y bool) { return k == YCbCr420 || k == YCbCr422, k == YCbCr420 }

// Samples is a decoded picture as stored: cut, but not turned. Luma, grey and RGBA lie in Y.
type Samples struct {
	Kind            Kind
	Y, Cb, Cr       []byte
	Stride, CStride int // bytes from row to row, of Y and of Cb and Cr
}

// newSamples allocates memory for a picture of w × h.
func newSamples(k Kind, w, h int) *Samples {
	s := &Samples{Kind: k, Stride: w}
	if k == RGBA {
		s.Stride *= 4
	}
	s.Y = make([]byte, s.Stride*h)
	if k == Gray || k == RGBA {
		return s
	}
	cw, ch := w, h
	halfX, halfY := k.halves()
	if halfX {
		cw = (w + 1) / 2
	}
	if halfY {
		ch = (h + 1) / 2
	}
	s.CStride, s.Cb, s.Cr = cw, make([]byte, cw*ch), make([]byte, cw*ch)
	return s
}

// put copies a tile of w pixels a row that lies as l says to (x, y); what reaches beyond the picture is left out. With
// chroma of half the width x is even, and of half the height y.
func (s *Samples) put(l layout, pix []byte, w, x, y int) {
	luma, c := l.stride*l.h, l.cstride*l.ch
	if s.Kind == RGBA {
		w, x = 4*w, 4*x
	}
	putPlane(s.Y, s.Stride, x, y, pix[:luma], w, l.stride)
	if c == 0 {
		return
	}
	halfX, halfY := s.Kind.halves()
	if halfX {
		w, x = (w+1)/2, x/2
	}
	if halfY {
		y /= 2
	}
	putPlane(s.Cb, s.CStride, x, y, pix[luma:luma+c], w, l.cstride)
	putPlane(s.Cr, s.CStride, x, y, pix[luma+c:luma+2*c], w, l.cstride)
}

// putPlane copies rows of w bytes, of which one follows the other after fromStride bytes.
func putPlane(to []byte, stride, x, y int, from []byte, w, fromStride int) {
	w = min(w, stride-x)
	for at := y*stride + x; w > 0 && at < len(to) && len(from) > 0; at += stride {
		copy(to[at:at+w], from)
		from = from[fromStride:]
	}
}

// cut returns the samples from (x, y) on; chroma of half the size from the sample that covers that place.
func (s *Samples) cut(x, y int) *Samples {
	c := *s
	halfX, halfY := s.Kind.halves()
	cx, cy := x, y
	if halfX {
		cx /= 2
	}
	if halfY {
		cy /= 2
	}
	if s.Kind == RGBA {
		x *= 4
	}
	c.Y = s.Y[y*s.Stride+x:]
	if s.Cb != nil {
		c.Cb, c.Cr = s.Cb[cy*s.CStride+cx:], s.Cr[cy*s.CStride+cx:]
	}
	return &c
}

// tileMemory bounds what the decoder may use for one coded picture, in bytes: about twice what the largest samples took
// (10 bytes a pixel at 8 bits 4:2:0, 16 at 10 bits 4:2:2).
func (p *Picture) tileMemory(file int) uint64 {
	perPixel := uint64(16)
	if p.coded.bits > 8 {
		perPixel *= 2
	}
	if p.coded.chroma == 3 {
		perPixel *= 2
	}
	return min(48<<20+2*uint64(file)+perPixel*uint64(p.coded.width)*uint64(p.coded.height), 2<<30)
}

// start starts the decoder, in a sandbox that is new or has decoded enough pictures. A new one is given at once the memory that
// a picture takes and what is kept of others, if that is no more than 256 MiB, as a damaged file may claim any size.
func (p *Picture) start(s *sandbox, load func() (*module, error), file int) error {
	if pixels := p.coded.width * p.coded.height; s.memory == nil {
		s.memory, s.limit = make([]byte, 0, min(8<<20+2*file+8*pixels, 256<<20)), p.tileMemory(file)+16<<20
		if pixels > 1<<20 {
			runtime.GC() // what so much memory calls for; it would otherwise wait for the decoder
		}
	} else if s.used < p.tilesPerSandbox() {
		return nil
	}
	m, err := load()
	if err != nil {
		return err
	}
	return s.start(m)
}

// tilesPerSandbox is after how many pictures a sandbox is left for a fresh one, as the decoder never gives back the memory
// of those it has made: 16 MiB of them, of at most 4 bytes a pixel.
func (p *Picture) tilesPerSandbox() int { return max(1, (16<<20)/(4*p.coded.width*p.coded.height)) }

// patience returns how long decoding a picture may take: many times what a slow laptop needs.
func (p *Picture) patience() time.Duration {
	return time.Minute + time.Duration(p.Pixels/1e6)*10*time.Second
}

// Decode decodes the picture. Decoding of a single tile cannot be stopped (checking for that would make it five
// times slower), but when ctx ends, Decode no longer waits for it, and begins no other. The error is an
// [*UnsupportedError] for a picture that is not handled, and any other one for a damaged picture.
func (p *Picture) Decode(ctx context.Context) (*Samples, error) {
	if err := p.covered(); err != nil {
		return nil, err
	}
	go decoder() // is loaded while memory is set aside
	ctx, stop := context.WithTimeoutCause(ctx, p.patience(), errors.New("heic decoder: no end in sight"))
	defer stop()
	type result struct {
		s   *Samples
		err error
	}
	done := make(chan result, 1)
	go func() {
		s, err := p.decode(ctx, decoder)
		done <- result{s, err}
	}()
	select {
	case r := <-done:
		return r.s, r.err
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

// cores bounds how many sandboxes of the whole program decode at once.
var cores = make(chan struct{}, runtime.GOMAXPROCS(0))

// decode decodes the tiles side by side.
func (p *Picture) decode(ctx context.Context, load func() (*module, error)) (*Samples, error) {
	var (
		next  atomic.Int64
		mu    sync.Mutex
		whole *Samples
	)
	// ready returns the whole picture to put tiles into; the first one tells its kind.
	ready := func(k Kind) (*Samples, error) {
		mu.Lock()
		defer mu.Unlock()
		if whole == nil {
			whole = newSamples(k, p.stored.X, p.stored.Y)
		}
		if whole.Kind != k {
			return nil, badContainer("parts of different kinds")
		}
		return whole, nil
	}
	g, ctx := errgroup.WithContext(ctx)
	for range min(len(p.tiles), cap(cores)) {
		g.Go(func() (err error) {
			defer func() {
				if r := recover(); r != nil {
					err = fmt.Errorf("heic decoder: %v", r)
				}
			}()
			s := &sandbox{}
			defer s.close()
			for i := int(next.Add(1)) - 1; i < len(p.tiles) && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				file, err := p.single(p.tiles[i])
				if err != nil {
					return err
				}
				cores <- struct{}{}
				err = func() error {
					defer func() { <-cores }()
					if err := p.start(s, load, len(file)); err != nil {
						return fmt.Errorf("heic decoder: %w", err)
					}
					l, pix, err := s.decode(file, p.coded.width, p.coded.height)
					if err != nil {
						return fmt.Errorf("heic decoder: %w", err)
					}
					whole, err := ready(l.kind)
					if err == nil {
						whole.put(l, pix, p.coded.width, i%p.columns*p.coded.width, i/p.columns*p.coded.height)
					}
					return err
				}()
				if err != nil {
					return err
				}
			}
			return ctx.Err()
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return whole.cut(p.cut.Min.X, p.cut.Min.Y), nil
}
