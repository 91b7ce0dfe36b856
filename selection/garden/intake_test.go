package garden_test

// Tests of intake are here, in one program with those of the garden that it sorts photos into: to link another takes longer.

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/garden"
	. "hueward/selection/intake"
)

var now = time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)

// bookWith is a book with these lines, and a plant 1 of each: buff-1 of buff.
func bookWith(t *testing.T, lines ...string) *book.Book {
	t.Helper()
	b := must.Have(book.Create(t.Context(), filepath.Join(t.TempDir(), "book"), nil))(t)
	t.Cleanup(func() { b.Close() })
	for _, l := range lines {
		must.OK(t, b.AddLine(t.Context(), l, ""))
		must.OK(t, b.AddPlant(t.Context(), book.Plant{ID: l + "-1", Line: l, Season: "2026"}))
	}
	return b
}

// TestPlace holds what becomes of a photo by what is known of it.
func TestPlace(t *testing.T) {
	two := bookWith(t, "buff", "cosmos")
	one := bookWith(t, "buff")
	none := bookWith(t)
	july := time.Date(2025, 7, 1, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		what  string
		b     *book.Book
		opt   Options
		photo Photo
		plant string // want
		line  string // of a plant that is new
		code  Code
	}{
		{what: "named goes before tag and name", b: one, photo: Photo{Said: "buff-1", Tag: "X-2", Guess: "X-3"}, plant: "buff-1"},
		{what: "a tag goes before the file's name", b: one, photo: Photo{Tag: "buff-1", Guess: "X-3"}, plant: "buff-1"},
		{what: "the file's name", b: one, photo: Photo{Guess: "buff-1"}, plant: "buff-1"},
		{what: "blanks say nothing", b: one, photo: Photo{Said: "  ", Tag: "buff-1"}, plant: "buff-1"},
		{what: "nothing says it", b: one, photo: Photo{Measured: true}},
		{what: "nothing says it, and no colour", b: one, photo: Photo{}, code: Unmeasured},
		{what: "the same, where it can be mended", b: one, photo: Photo{Mendable: true}},
		{what: "refused, of a plant that is known", b: one, photo: Photo{Said: "buff-1"}, plant: "buff-1"},
		{what: "new, of the only line", b: one, photo: Photo{Guess: "M-31"}, plant: "M-31", line: "buff"},
		{what: "new, of the line that was named", b: two, opt: Options{Line: "COSMOS", Only: true}, photo: Photo{Tag: "M-31"}, plant: "M-31",
			line: "cosmos"},
		{what: "new, named, and the line is not known", b: two, photo: Photo{Said: "M-31", Measured: true}, code: NewNoLine},
		{what: "new, tagged, and the line is not known", b: two, photo: Photo{Tag: "M-31", Measured: true}, code: NewNoLine},
		{what: "new, only guessed, and the line is not known", b: two, photo: Photo{Guess: "M-31", Measured: true}},
		{what: "new, in a book without a line", b: none, photo: Photo{Said: "M-31", Measured: true}, code: NewNoLine},
		{what: "of another line than the one named", b: two, opt: Options{Line: "cosmos", Only: true},
			photo: Photo{Said: "buff-1", Measured: true}, code: OtherLine},
		{what: "of another line than the one looked at", b: two, opt: Options{Line: "cosmos"}, photo: Photo{Said: "buff-1", Measured: true},
			plant: "buff-1"},
		{what: "no name", b: one, photo: Photo{Said: "a/b", Measured: true}, code: BadName},
		{what: "a tag that says no name", b: one, photo: Photo{Tag: "http://x", Measured: true}, code: BadName},
	} {
		c.opt.Now = now
		in, err := Open(t.Context(), c.b, &c.opt)
		if err != nil {
			t.Fatalf("%s: %v", c.what, err)
		}
		c.photo.Taken = july
		var e book.Entry
		err = in.Place(t.Context(), &e, c.photo)
		var p *Problem
		switch {
		case c.code == "" && err != nil:
			t.Errorf("%s: %v", c.what, err)
		case c.code == "":
			if e.Plant != c.plant || e.Line != c.line {
				t.Errorf("%s: plant %q, new line %q; want %q, %q", c.what, e.Plant, e.Line, c.plant, c.line)
			}
		case !errors.As(err, &p) || p.Code != c.code:
			t.Errorf("%s: %v, want a problem %s", c.what, err, c.code)
		case p.Tagged != (c.photo.Tag != "" && c.code != OtherLine):
			t.Errorf("%s: the tag said it: %v", c.what, p.Tagged)
		case c.code == OtherLine && (p.Plant != "buff-1" || p.Line != "buff" || p.Want != "cosmos"):
			t.Errorf("%s: %+v", c.what, p)
		}
	}
}

// TestPlaceSeason: the season named, else the photo's own year, else the present one. A year that the book has not had is
// told, and one that lies ahead does not count: with a clock that was wrong, all was ranked in season 2099.
func TestPlaceSeason(t *testing.T) {
	b := bookWith(t, "buff")
	july := time.Date(2025, 7, 1, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		season     string
		taken      time.Time
		want, told string
	}{{"", july, "2025", "season 2025 is new to the book"}, {"", time.Time{}, "2026", ""}, {"2024", july, "2024", ""},
		{"", july.AddDate(1, 0, 0), "2026", ""}, {"", now, "2027", ""}, {"", july.AddDate(74, 0, 0), "2026", "the camera's clock was wrong"}} {
		in := must.Have(Open(t.Context(), b, &Options{Season: c.season, Now: now}))(t)
		for range 2 { // told once
			var e book.Entry
			if err := in.Place(t.Context(), &e, Photo{Said: "buff-1", Taken: c.taken}); err != nil || e.Season != c.want {
				t.Errorf("season %q, taken %v: %q, %v; want %q", c.season, c.taken, e.Season, err, c.want)
			}
		}
		if told := must.Have(in.Told(t.Context()))(t); len(told) > 1 || !strings.HasPrefix(strings.Join(told, ""), c.told) ||
			(c.told == "") != (len(told) == 0) {
			t.Errorf("season %q, taken %v: told %q, want %q", c.season, c.taken, told, c.told)
		}
	}
}

// TestOpenLine: a line that was named must be there; one that was not may be asked for.
func TestOpenLine(t *testing.T) {
	two := bookWith(t, "buff", "cosmos")
	if _, err := Open(t.Context(), two, &Options{Line: "marigold", Now: now}); err == nil {
		t.Error("a line that the book does not have was taken")
	}
	in := must.Have(Open(t.Context(), two, &Options{Now: now}))(t)
	var ask *garden.AskError
	if line, err := in.LineOfNew(); line != "" || !errors.As(err, &ask) {
		t.Errorf("of two lines: %q, %v; want a question", line, err)
	}
}

// TestGuess: what folder and file name say, for photos of a folder and those named alone.
func TestGuess(t *testing.T) {
	in := must.Have(Open(t.Context(), bookWith(t, "buff"), &Options{Now: now}))(t)
	for _, c := range []struct{ file, root, want string }{
		{"photos/M-07/1.jpg", "photos", "M-07"},
		{"photos/M-07_1.jpg", "photos", "M-07"},
		{"photos/IMG_1.jpg", "photos", ""},
		{"BUFF-1/IMG_1.jpg", "BUFF-1", "BUFF-1"}, // a plant of the book
		{"M-07/IMG_1.jpg", "M-07", ""},           // a folder says little of a photo named by itself
		{"buff-1/IMG_1.jpg", "", ""},             // a file that was sent has no folder
		{"M-31_1.jpg", "", "M-31"},
	} {
		if got, err := in.Guess(t.Context(), c.file, c.root); err != nil || got != c.want {
			t.Errorf("Guess(%s, %s) = %q, %v; want %q", c.file, c.root, got, err, c.want)
		}
	}
}

// TestKeepOtherPlant: a photo that is in the book stays with its plant, and whoever says
// another is reported; one without a plant is given it.
func TestKeepOtherPlant(t *testing.T) {
	ctx := t.Context()
	b := bookWith(t, "buff")
	in := must.Have(Open(ctx, b, &Options{Now: now}))(t)
	file := filepath.Join(t.TempDir(), "IMG_1.jpg")
	must.OK(t, os.WriteFile(file, []byte("a picture"), 0o600))
	keep := func(said string) (*book.Recorded, error) {
		return in.Keep(ctx, entryOf(t, file), Photo{Said: said, Measured: true})
	}
	if rec, err := keep(""); err != nil || rec.Photo.Plant != "" || rec.Photo.Season != "2026" {
		t.Fatalf("without a plant: %+v, %v", rec, err)
	}
	if rec, err := keep("M-31"); err != nil || rec.Photo.Plant != "M-31" || !rec.NewPlant {
		t.Fatalf("then of a new one: %+v, %v", rec, err)
	}
	var p *Problem
	rec, err := keep("buff-1")
	if !errors.As(err, &p) || p.Code != OtherPlant || p.Plant != "M-31" || p.Want != "buff-1" || rec.Photo.Plant != "M-31" {
		t.Errorf("then of another: %+v, %v", rec, err)
	}
	if _, err := keep("m-31"); err != nil {
		t.Errorf("then of the same in other letters: %v", err)
	}
	// A problem leaves nothing behind.
	before, err := b.Photos(context.Background(), "", "")
	if err != nil || len(before) != 1 {
		t.Errorf("%d photos, %v; want 1", len(before), err)
	}
}

// entryOf is a photo with a reading, made up.
func entryOf(t *testing.T, file string) (e book.Entry) {
	t.Helper()
	text := must.Have(os.ReadFile(file))(t)
	e.File = file
	reading := fmt.Sprintf(`{"status": "refused", "reason": "no grey card found", "sha256": "%x"}`, sha256.Sum256(text))
	must.OK(t, json.Unmarshal([]byte(reading), &e.Reading))
	return e
}
