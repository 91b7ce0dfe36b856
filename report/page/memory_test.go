package page

import (
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"hueward/colorimg/photo"
)

// Pictures that are sent at once and do not all fit into the memory for photos wait for each
// other: none is refused, and each is kept. This test runs alone, as the memory is the program's.
func TestPicturesWaitForMemory(t *testing.T) {
	bk, c := served(t)
	token, was := c.token(), photosIn(t, bk)
	photo.SetMemory(100_000) // less than each of them takes
	defer photo.SetMemory(photo.DefaultMemory)
	file := filepath.Join(t.TempDir(), "held.jpg")
	check(t, os.WriteFile(file, drawn(t, 501, petalOf(1), 400, 300), 0o666))
	held, err := photo.Open(t.Context(), file, nil)
	check(t, err)
	var sent sync.WaitGroup
	for i, name := range []string{"M-01_9.jpg", "M-02_9.jpg"} {
		pic := drawn(t, int64(502+i), petalOf(i), 400, 300)
		sent.Go(func() {
			r, err := c.tryUpload("/photos", name, "image/jpeg", pic, true, "token", token)
			if err != nil {
				t.Error(err)
				return
			}
			if status, body := read(t, r); status != http.StatusOK {
				t.Errorf("%s: status %d, %.200s", name, status, body)
			}
		})
	}
	for end := time.Now().Add(30 * time.Second); len(c.s.work) < min(2, cap(c.s.work)) && time.Now().Before(end); {
		time.Sleep(5 * time.Millisecond)
	}
	for end := time.Now().Add(200 * time.Millisecond); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if n := photosIn(t, bk); n != was {
			t.Fatalf("%d photos were measured while another has all the memory", n-was)
		}
	}
	held.Done()
	sent.Wait()
	if n := photosIn(t, bk); n != was+2 {
		t.Errorf("%d photos are kept, want both", n-was)
	}
}
