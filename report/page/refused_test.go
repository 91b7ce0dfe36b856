package page

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// A photo that is refused is kept, so that whoever sees card or bloom in it can point
// them out; what was pointed out wrongly changes nothing.
func TestRefusedThenCorrected(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	var pic bytes.Buffer
	s := render.Scene{Width: 600, Height: 450, Petal: cie.Lab{L: 76, A: 14, B: 38}, Ground: render.Board, Diameter: 0.5,
		At: [2]float64{0.6, 0.5}, Card: render.CardSpec{None: true}, Seed: 5}
	check(t, only(s.JPEG(&pic, 92)))
	status, body := c.upload("/photos", "IMG_7.jpg", "image/jpeg", pic.Bytes(), true)
	var answer []struct {
		ID           int64
		Status, HTML string
	}
	if err := json.Unmarshal([]byte(body), &answer); err != nil || status != 200 || answer[0].ID == 0 || answer[0].Status != "refused" {
		t.Fatalf("status %d, %v: %s", status, err, body)
	}
	if !strings.Contains(answer[0].HTML, "No grey card found.") || !strings.Contains(answer[0].HTML, "ut the corners on the card") {
		t.Errorf("the card says %s", answer[0].HTML)
	}
	path := fmt.Sprintf("/photos/%d", answer[0].ID)
	newest := func() colorimg.Reading {
		t.Helper()
		list, readings, err := b.NewestPhotos(t.Context(), 1)
		if err != nil || list[0].ID != answer[0].ID {
			t.Fatalf("%+v, %v", list, err)
		}
		return readings[0].Measured
	}
	for _, wrong := range [][2]string{{"card", "1,1"}, {"card", "9000,1 9001,1 9001,2 9000,2"}, {"bloom", "here"}, {"bloom", "-5,3"},
		{"strokes", "[{]"}, {"strokes", `[{"in":true,"radius":-1,"points":[[1,1]]}]`}} {
		if status, page := c.send(path+"/correct", wrong[0], wrong[1]); status == 200 || status == 500 {
			t.Errorf("%v: status %d, %.200s", wrong, status, page)
		}
	}
	if m := newest(); m.Status != colorimg.Refused || m.Correction != nil {
		t.Errorf("after wrong corrections the reading is %s, %+v", m.Status, m.Correction)
	}
	if status, page := c.send(path+"/correct", "card", "20,20 80,20 80,70 20,70"); status != 200 ||
		!strings.Contains(page, "from the target") && !strings.Contains(page, "L*") {
		t.Errorf("a patch of the grey board pointed out: status %d, %.300s", status, page)
	}
	if m := newest(); m.Status == colorimg.Refused || m.Correction == nil || m.Correction.Card == nil {
		t.Errorf("the reading is %s, %+v", m.Status, m.Correction)
	}
	if status, _ := c.send(path+"/plant", "plant", "M-09"); status != 200 {
		t.Errorf("the plant that it shows: status %d", status)
	}
	if p, err := b.Plant(t.Context(), "M-09"); err != nil || p.Photos != 1 {
		t.Errorf("M-09 is %+v, %v", p, err)
	}
}

// A book whose folder is put elsewhere while its page is open is neither shown nor written to: 503, so that what waits
// on a phone is sent again.
func TestBookMoved(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	c.token()
	check(t, os.Rename(b.Dir(), b.Dir()+"-elsewhere"))
	for what, ask := range map[string]func() (*http.Response, error){
		"read":  func() (*http.Response, error) { return c.Get(c.base + "/plants") },
		"write": func() (*http.Response, error) { return c.PostForm(c.base+"/undo", nil) },
	} {
		r, err := ask()
		check(t, err)
		if status, page := read(t, r); status != http.StatusServiceUnavailable || !strings.Contains(page, "open it again where it is now") {
			t.Errorf("%s: status %d, want 503 and what to do:\n%.300s", what, status, page)
		}
	}
}
