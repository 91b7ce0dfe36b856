package photo

import (
	"context"
	"image"
	"image/color"
	"runtime"
	"sync"

	"golang.org/x/sync/semaphore"
)

// DefaultMemory is how many bytes the photos that are open at one time may take in all.
const DefaultMemory = 3 << 29 // 1.5 GiB

// memory is shared by all who open photos in this program, so that many large ones at a
// time wait for each other. A photo that alone is larger has all of it.
var memory = budget{most: DefaultMemory, free: semaphore.NewWeighted(DefaultMemory)}

type budget struct {
	most int64
	free *semaphore.Weighted
}

// SetMemory says how many bytes the photos that are open at one time may take in all; it
// is called before any is opened.
func SetMemory(bytes int64) {
	memory = budget{most: bytes, free: semaphore.NewWeighted(bytes)}
}

// hold waits until n bytes are free, and returns what gives them back, once.
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

// needed is about how many bytes it takes to decode the photo and to hold it: of a JPEG
// what its frame says, of others what their decoders were seen to take.
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

// jpegNeed is how many bytes of memory each pixel of a JPEG takes: its samples, and in
// a progressive one the coefficients, four bytes for each sample, until they are all there.
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
