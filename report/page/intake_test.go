package page

import (
	"encoding/json"
	"strings"
	"testing"

	"hueward/colorimg/cie"
)

// Photos that are sent land where the command line would put them: under the plant whose
// name the file begins with, a new one too; and a photo that the book has stays with its
// plant, and whoever names another hears of it.
func TestPhotosLikeTheCommands(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	type answer struct {
		ID           int64
		Status, HTML string
	}
	send := func(name string, pic []byte, kv ...string) answer {
		t.Helper()
		status, body := c.upload("/photos", name, "image/jpeg", pic, true, kv...)
		var a []answer
		if err := json.Unmarshal([]byte(body), &a); err != nil || status != 200 || len(a) != 1 {
			t.Fatalf("%s: status %d, %v: %.300s", name, status, err, body)
		}
		return a[0]
	}
	pic := drawn(t, 31, cie.Lab{L: 76, A: 14, B: 38}, 600, 450)
	if a := send("M-31_1.jpg", pic); a.ID == 0 {
		t.Fatalf("a new plant by its file's name: %+v", a)
	}
	p, err := b.Plant(t.Context(), "M-31")
	if err != nil || p.Line != "buff apricot" || p.Season != "2026" || p.Photos != 1 {
		t.Errorf("M-31 is %+v, %v; want a plant of buff apricot, season 2026, with its photo", p, err)
	}
	a := send("M-31_1.jpg", pic, "plant", "M-02")
	if a.ID != 0 || a.Status != "refused" || !strings.Contains(a.HTML, "in the book already, as one of plant M-31.") {
		t.Errorf("the same photo as one of M-02: %+v", a)
	}
	if a := send("M-31_1.jpg", pic, "plant", "m-31"); a.ID == 0 || a.Status == "refused" {
		t.Errorf("the same photo of the same plant: %+v", a)
	}
	if a := send("IMG_0031.jpg", drawn(t, 32, cie.Lab{L: 76, A: 14, B: 38}, 600, 450), "plant", "a/b"); a.ID != 0 ||
		!strings.Contains(a.HTML, "is not a usable name") {
		t.Errorf("a plant called a/b: %+v", a)
	}
	if n := photosIn(t, b); n != 9 {
		t.Errorf("%d photos in the book, want the 8 of before and 1", n)
	}
}
