package page

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"hueward/colorimg/cie"
	"hueward/selection/book"
	"hueward/selection/book/safety"
	"hueward/selection/book/transfer"
)

// smallPhotos are n photos that differ, each a drawn one with another comment at its
// end of file: the work is that of so many photos, and drawing them takes no time.
func smallPhotos(t *testing.T, n int) [][]byte {
	t.Helper()
	var drawings [8][]byte
	for i := range drawings {
		drawings[i] = drawn(t, int64(300+i), petalOf(i), 400, 300)
	}
	out := make([][]byte, n)
	for i := range out {
		out[i] = append(bytes.Clone(drawings[i%8]), fmt.Sprintf("photo %d", i)...) // what follows a JPEG's end is not read
	}
	return out
}

// Four devices send photos, some twice and some broken off, while two people edit:
// nothing is lost, nothing is doubled, and the book is sound. With HUEWARD_FULL=1 there
// are 50 of each device.
func TestManyDevices(t *testing.T) {
	t.Parallel()
	const devices = 4
	each := 8 // the fourth is sent twice, the eighth breaks off
	if full {
		each = 50
	}
	b := bookOf(t)
	s := serve(t, b, nil)
	was := photosIn(t, b)
	photos := smallPhotos(t, devices*each)
	for i := range devices {
		check(t, b.AddPlant(t.Context(), book.Plant{ID: fmt.Sprintf("D-%d", i+1), Line: "buff apricot", Season: "2026"}))
	}
	var wg sync.WaitGroup
	stop := make(chan struct{})
	edits := make([]int, 2)
	for who := range edits {
		c := newDevice(t, s.s, s.base)
		wg.Go(func() {
			token := c.token()
			for i := 0; ; i++ {
				select {
				case <-stop:
					return
				default:
				}
				start := time.Now()
				r, err := c.PostForm(c.base+fmt.Sprintf("/plants/M-%02d/note", who+1), map[string][]string{"token": {token},
					"note": {fmt.Sprintf("note %d", i)}})
				if err != nil {
					t.Error(err)
					return
				}
				r.Body.Close()
				if r.StatusCode != http.StatusOK {
					t.Errorf("an edit: status %d", r.StatusCode)
				}
				if d := time.Since(start); d > 60*time.Second {
					t.Errorf("an edit took %v", d)
				}
				edits[who]++
				time.Sleep(20 * time.Millisecond)
			}
		})
	}
	// How long others keep the book from somebody who writes.
	var slowest time.Duration
	wg.Go(func() {
		mine := b.As("the clock")
		for {
			select {
			case <-stop:
				return
			case <-time.After(50 * time.Millisecond):
			}
			start := time.Now()
			if err := mine.SetNote(t.Context(), "M-09", start.String()); err != nil {
				t.Error(err)
			}
			slowest = max(slowest, time.Since(start))
		}
	})
	defer func() { t.Logf("the longest that a writer waited: %v", slowest) }()
	var senders sync.WaitGroup
	for i := range devices {
		c := newDevice(t, s.s, s.base)
		senders.Go(func() {
			token := c.token()
			plant := fmt.Sprintf("D-%d", i+1)
			send := func(n int) {
				r, err := c.tryUpload("/photos", fmt.Sprintf("IMG_%04d.jpg", n), "image/jpeg", photos[i*each+n], true, "token", token, "plant", plant)
				if err != nil {
					t.Error(err)
					return
				}
				status, body := read(t, r)
				var answer []struct{ ID int64 }
				if status != http.StatusOK || json.Unmarshal([]byte(body), &answer) != nil || len(answer) != 1 || answer[0].ID == 0 {
					t.Errorf("%s, photo %d: status %d, %.200s", plant, n, status, body)
				}
			}
			for n := range each {
				send(n)
				if n%10 == 3 {
					send(n) // the answer was lost, and the device sends it again
				}
				if n%10 == 7 { // the connection is lost half-way
					half := photos[i*each+n]
					body := "--x\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n" + token +
						"\r\n--x\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"half.jpg\"\r\n\r\n" + string(half[:len(half)/2])
					req, err := http.NewRequest(http.MethodPost, c.base+"/photos", strings.NewReader(body))
					if err != nil {
						t.Error(err)
						continue
					}
					req.Header.Set("Content-Type", "multipart/form-data; boundary=x")
					if r, err := c.Do(req); err == nil {
						if r.Body.Close(); r.StatusCode == http.StatusOK {
							t.Error("half a photo was taken")
						}
					}
				}
			}
		})
	}
	senders.Wait()
	close(stop)
	wg.Wait()
	if n := photosIn(t, b); n != was+devices*each {
		t.Errorf("%d photos in the book, want %d", n-was, devices*each)
	}
	for i := range devices {
		list, err := b.Photos(t.Context(), "2026", fmt.Sprintf("D-%d", i+1))
		if err != nil || len(list) != each {
			t.Errorf("device %d: %d photos, want %d; %v", i+1, len(list), each, err)
		}
		for _, p := range list {
			if p.Readings != 1 {
				t.Errorf("photo %d has %d readings, want 1", p.ID, p.Readings)
			}
		}
	}
	for who, n := range edits {
		p, err := b.Plant(t.Context(), fmt.Sprintf("M-%02d", who+1))
		if want := fmt.Sprintf("note %d", n-1); err != nil || n == 0 || p.Note != want {
			t.Errorf("the last of %d notes is %q, want %q; %v", n, p.Note, want, err)
		}
	}
	found, err := safety.Check(t.Context(), b, nil)
	if err != nil || len(found) > 0 {
		t.Errorf("check: %+v, %v", found, err)
	}
}

// bigBook is a book of n plants of one season, each with two instrument readings.
func bigBook(tb testing.TB, n int) *book.Book {
	tb.Helper()
	b := bookOf(tb)
	ctx := tb.Context()
	check(tb, b.AddLine(ctx, "field", ""))
	check(tb, b.SetTarget(ctx, "field", book.Target{Aim: book.Move, Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4,
		Source: "--lab"}))
	dir := tb.TempDir()
	var plants, readings strings.Builder
	plants.WriteString("plant,line,season\n")
	readings.WriteString("plant,season,date,L,a,b,se,source\n")
	for i := range n {
		p := petalOf(i)
		fmt.Fprintf(&plants, "F-%04d,field,2026\n", i+1)
		for k := range 2 {
			fmt.Fprintf(&readings, "F-%04d,2026,2026-07-%02d,%.2f,%.2f,%.2f,0.5,spectrophotometer\n", i+1, 3+k, p.L+float64(i%17)/4+float64(k)/9,
				p.A+float64(i%13)/5, p.B+float64(i%11)/6)
		}
	}
	files := writeFiles(tb, dir, map[string]string{"plants.csv": plants.String(), "readings.csv": readings.String()})
	check(tb, only(transfer.Import(ctx, b, files, nil)))
	return b
}

// The ranking of 2 000 plants weighs less than 300 kB as it goes over the network. Without HUEWARD_FULL=1 there are
// 400, of which each may weigh as much: ranking them takes most of the time.
func TestRankingWeight(t *testing.T) {
	t.Parallel()
	n, most := 400, 60_000
	if full {
		n, most = 2000, 300_000
	}
	b := bigBook(t, n)
	c := serve(t, b, nil)
	req, _ := http.NewRequest(http.MethodGet, c.base+"/plants?line=field", nil)
	req.Header.Set("Accept-Encoding", "gzip")
	r, err := c.Do(req)
	check(t, err)
	_, packed := read(t, r)
	if r.Header.Get("Content-Encoding") != "gzip" {
		t.Error("it is not packed")
	}
	_, page := c.read("/plants?line=field")
	if got := strings.Count(page, `<li id="p-F-`); got != n {
		t.Errorf("%d plants are listed, want %d", got, n)
	}
	t.Logf("%d bytes packed, %d unpacked", len(packed), len(page))
	if len(packed) > most {
		t.Errorf("%d bytes packed, want at most %d", len(packed), most)
	}
}

// The ranking of 2 000 plants: served as a device that comes back to it gets it, and
// anew after the book has changed.
func BenchmarkRanking2000(b *testing.B) {
	bk := bigBook(b, 2000)
	c := serve(b, bk, nil)
	get := func(b *testing.B) {
		r, err := c.Get(c.base + "/plants?line=field")
		check(b, err)
		if status, _ := read(b, r); status != 200 {
			b.Fatal(status)
		}
	}
	get(b)
	b.Run("again", func(b *testing.B) {
		for b.Loop() {
			get(b)
		}
	})
	b.Run("decided", func(b *testing.B) { // a plant kept or passed by one touch
		token := c.token()
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			to := [2]string{"kept", "passed"}[i%2]
			r, err := c.PostForm(c.base+"/status", map[string][]string{"token": {token}, "set": {"F-0001 " + to}, "back": {"/print"}})
			check(b, err)
			r.Body.Close()
			b.StartTimer()
			get(b)
		}
	})
	measure := func(i int) {
		check(b, bk.AddInstrumentReading(b.Context(), book.InstrumentReading{Plant: "F-0001", Season: "2026", Source: "spectrophotometer",
			Lab: petalOf(i)}))
	}
	b.Run("warmed", func(b *testing.B) { // ranked anew before somebody asks, as a server does within two seconds
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			measure(i)
			c.s.warm(b.Context())
			b.StartTimer()
			get(b)
		}
	})
	b.Run("measured", func(b *testing.B) { // ranked anew while somebody waits
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			measure(i)
			b.StartTimer()
			get(b)
		}
	})
}

// The page of pairs after a decision on a plant, as somebody waits for it, and the same page
// asked for again, in lines of so many plants that are all candidates.
func BenchmarkPairsDecided(b *testing.B) {
	for _, n := range []int{24, 200} {
		bk := bigBook(b, n)
		c := serve(b, bk, nil)
		get := func(b *testing.B) {
			if status, page := c.read("/pairs?line=field"); status != 200 || !strings.Contains(page, `name="pair"`) {
				b.Fatal(status)
			}
		}
		get(b)
		token := c.token()
		b.Run(fmt.Sprintf("decided/%d", n), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				b.StopTimer()
				to := [2]string{"passed", "growing"}[i%2]
				r, err := c.PostForm(c.base+"/status", map[string][]string{"token": {token}, "set": {"F-0001 " + to}, "back": {"/print"}})
				check(b, err)
				r.Body.Close()
				b.StartTimer()
				get(b)
			}
		})
		b.Run(fmt.Sprintf("again/%d", n), func(b *testing.B) {
			for b.Loop() {
				get(b)
			}
		})
	}
}

// A phone photo of 12 megapixels, from the first byte sent to its result.
func BenchmarkUpload12MP(b *testing.B) {
	bk := bookOf(b)
	c := serve(b, bk, nil)
	small, err := jpeg.Decode(bytes.NewReader(drawn(b, 77, petalOf(4), 1600, 1200)))
	check(b, err)
	var photo bytes.Buffer
	check(b, jpeg.Encode(&photo, enlarged(small, 4000, 3000), &jpeg.Options{Quality: 92}))
	b.SetBytes(int64(photo.Len()))
	token := c.token()
	for i := 0; b.Loop(); i++ {
		content := append(bytes.Clone(photo.Bytes()), fmt.Sprint(i, now)...)
		r, err := c.tryUpload("/photos", fmt.Sprintf("IMG_%d.jpg", i), "image/jpeg", content, true, "token", token, "plant", "M-05")
		check(b, err)
		if status, body := read(b, r); status != 200 || strings.Contains(body, "Refused") {
			b.Fatalf("status %d, %.300s", status, body)
		}
	}
}

func enlarged(im image.Image, w, h int) image.Image {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	r := im.Bounds()
	for y := range h {
		for x := range w {
			out.Set(x, y, im.At(x*r.Dx()/w, y*r.Dy()/h))
		}
	}
	return out
}

// What is asked for next is worked out beforehand: at the start of the server, and after
// a change, for the line that was looked at last.
func TestWarm(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	ready := func(line string) bool {
		version, err := b.Version(t.Context())
		check(t, err)
		c.s.cache.mu.Lock()
		defer c.s.cache.mu.Unlock()
		return c.s.cache.version == version && c.s.cache.kept[fmt.Sprintf("rows %q %q %q %q %q", line, "", "", "", "")] != nil
	}
	c.s.warm(t.Context())
	if !ready("buff apricot") {
		t.Error("at the start the first line's list is not ready")
	}
	c.read("/plants?line=old+cosmos")
	check(t, b.AddPlant(t.Context(), book.Plant{ID: "C-01", Line: "old cosmos", Season: "2026"}))
	if ready("old cosmos") {
		t.Error("a list from before the change is taken for the newest")
	}
	c.s.warm(t.Context())
	if !ready("old cosmos") {
		t.Error("after a change the list that was looked at last is not ready")
	}
	if _, page := c.read("/plants"); !strings.Contains(page, "C-01") {
		t.Error("the new plant is not listed")
	}
}
