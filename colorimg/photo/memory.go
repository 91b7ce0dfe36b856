package photo

import (
	"context"
	"image"
	"image/color"
	"runtime"
	"sync"

	"golang.org/x/sync/semaphore"
)

// DefaultMemory is the memory, in bytes, that all photos that are open at one time may take together.
const DefaultMemory = 3 << 29 // 1.5 GiB

// memory is shared by all calls of [Open] in this program, so that many large photos at a
// time wait for each other. A photo that is larger by itself takes all of it.
var memory = budget{most: DefaultMemory, free: semaphore.NewWeighted(DefaultMemory)}

type budget struct {
	most int64
	free *semaphore.Weighted
}

// SetMemory replaces DefaultMemory. It must be called before any photo is
// opened.
func SetMemory(bytes int64) {
	memory = budget{most: bytes, free: semaphore.NewWeighted(bytes)}
}

// hold waits until n bytes are free, and returns a function that gives them back; its further calls do nothing.
func (b *budget) hold(ctx context.Context, n int64) (giveBack func(), err error) {
	free := b.free // of the time: another budget may be set while photos are held
	n = min(n, b.most)
	if !free.TryAcquire(n) {
		runtime.GC() // photos that nobody uses any more give theirs back
		if err := free.Acquire(ctx, n); err != nil {
			return nil, err
		}
	}
	return sync.OnceFunc(func() { free.Release(n) }), nil
}

// needed returns about how many bytes it takes to decode the photo and to hold it: for a JPEG
// by its frame header, for others by measurements of their decoders.
func needed(format string, cfg image.Config, b []byte) int64 {
	pixels := int64(cfg.Width) * int64(cfg.Height)
	each := int64(8)
	switch format {
	case formatJPEG:
		return int64(len(b)) + int64(float64(pixels)*jpegNeed(b))
	case formatHEIC:
		each = 14
	case formatPNG, formatTIFF:
		if cfg.ColorModel == color.NRGBA64Model || cfg.ColorModel == color.RGBA64Model {
			each = 16
		}
	}
	return int64(len(b)) + each*pixels
}

// jpegNeed returns how many bytes each pixel of a JPEG takes: its samples, and in
// a progressive one also the coefficients, four bytes for each sample.
//
// Source: ITU-T T.81 annex B.2.2, the frame header.
func jpegNeed(b []byte) float64 {
	for m, seg := range jpegSegments(b) {
		if m >= 0xc0 && m <= 0xc2 && len(seg) > 5 && len(seg) >= 6+3*int(seg[5]) {
			samples, widest, highest := 0, 1, 1
			for k := range int(seg[5]) {
				h, v := int(seg[7+3*k]>>4), int(seg[7+3*k]&15)
				samples, widest, highest = samples+h*v, max(widest, h), max(highest, v)
			}
			each := float64(samples) / float64(widest*highest)
			if m == 0xc2 {
				each *= 5
			}
			return each
		}
	}
	return 15 // three full components, progressive
}
