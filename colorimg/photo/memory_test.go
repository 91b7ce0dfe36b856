package photo

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/semaphore"

	"hueward/colorimg/must"
)

// Those who open large photos wait for each other, however many there are; one that is
// larger than all there is has all of it.
func TestMemoryIsShared(t *testing.T) {
	t.Parallel()
	b := budget{most: 100, free: semaphore.NewWeighted(100)}
	var held, most atomic.Int64
	var all sync.WaitGroup
	for _, n := range []int64{40, 40, 40, 60, 99, 500, 1, 30} {
		all.Go(func() {
			back, err := b.hold(t.Context(), n)
			if err != nil {
				t.Error(err)
				return
			}
			now := held.Add(min(n, 100))
			for m := most.Load(); now > m && !most.CompareAndSwap(m, now); m = most.Load() {
			}
			time.Sleep(5 * time.Millisecond)
			held.Add(-min(n, 100))
			back()
			back() // once
		})
	}
	all.Wait()
	if m := most.Load(); m > 100 || m < 60 {
		t.Errorf("%d of 100 were held at one time", m)
	}
	if !b.free.TryAcquire(100) {
		t.Error("not all was given back")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := b.hold(ctx, 10); !errors.Is(err, context.Canceled) {
		t.Errorf("waiting ends with %v, want context.Canceled", err)
	}
}

// What a photo holds is given back when it is done with, or forgotten, and where it
// cannot be opened.
func TestMemoryIsGivenBack(t *testing.T) {
	before := memory
	defer func() { memory = before }()
	const all = 1 << 20
	memory = budget{most: all, free: semaphore.NewWeighted(all)}
	free := func() bool {
		for range 50 {
			runtime.GC()
			if memory.free.TryAcquire(all) {
				memory.free.Release(all)
				return true
			}
			time.Sleep(10 * time.Millisecond)
		}
		return false
	}
	var file bytes.Buffer
	must.OK(t, jpeg.Encode(&file, image.NewNRGBA(image.Rect(0, 0, 200, 100)), nil))
	p := must.Have(openBytes(t.Context(), "x.jpg", file.Bytes(), (*Options)(nil).withDefaults()))(t)
	if memory.free.TryAcquire(all) {
		t.Error("an open photo holds nothing")
	}
	p.Done()
	if !free() {
		t.Error("Done gave nothing back")
	}
	if _, err := openBytes(t.Context(), "x.jpg", file.Bytes()[:file.Len()/2], (*Options)(nil).withDefaults()); err == nil {
		t.Error("half a photo was opened")
	}
	if !free() {
		t.Error("a photo that could not be opened holds its memory")
	}
	must.Have(openBytes(t.Context(), "x.jpg", file.Bytes(), (*Options)(nil).withDefaults()))(t)
	if !free() {
		t.Error("a photo that was forgotten holds its memory")
	}
}

// A JPEG's frame says how many samples there are: 1.5 a pixel where colour is halved both
// ways (ITU-T T.81 annex A.1.1), and five times as much in a progressive one.
func TestMemoryOfJPEG(t *testing.T) {
	t.Parallel()
	frame := func(marker byte, sampling ...byte) []byte {
		b := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 0xff, marker, 0, byte(8 + 3*len(sampling)), 8, 0, 100, 0, 200, byte(len(sampling))}
		for i, s := range sampling {
			b = append(b, byte(i+1), s, 0)
		}
		return append(b, 0xff, 0xda, 0, 0)
	}
	for _, c := range []struct {
		b    []byte
		want float64
	}{
		{frame(0xc0, 0x22, 0x11, 0x11), 1.5}, {frame(0xc0, 0x11, 0x11, 0x11), 3}, {frame(0xc2, 0x22, 0x11, 0x11), 7.5},
		{frame(0xc0, 0x11), 1}, {frame(0xc0, 0x21, 0x11, 0x11), 2}, {[]byte{0xff, 0xd8, 0xff}, 15},
	} {
		if got := jpegNeed(c.b); got != c.want {
			t.Errorf("%x: %v bytes a pixel, want %v", c.b, got, c.want)
		}
	}
}
