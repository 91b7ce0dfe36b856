package book_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/record"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg"
)

func TestRecord(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	src := booktest.WriteFile(t, "IMG_0412.jpg", "first bloom")
	before, _ := os.Stat(src)
	r, err := b.Record(ctx, Entry{File: src, Line: "marigold", Season: "2026", Plant: "M-7", Reading: booktest.Reading("first bloom")})
	if err != nil {
		t.Fatal(err)
	}
	if r.Duplicate || r.SameAgain || !r.NewPlant || !r.NewLine {
		t.Errorf("first: %+v, want a new plant of a new line and no duplicate", r)
	}
	want := Photo{
		ID: r.Photo.ID, SHA256: booktest.Reading("first bloom").SHA256, Plant: "M-7", Season: "2026",
		Path: "photos/2026/M-7/IMG_0412.jpg", Name: "IMG_0412.jpg", Bytes: 11,
		TakenAt: booktest.Reading("").TakenAt.Time, Camera: "Made-up Phone 3", Size: [2]int{4000, 3000}, AddedAt: booktest.Noon, Readings: 1,
	}
	booktest.Same(t, "photo", want, r.Photo)
	if !booktest.SameFile(t, src, b.PhotoFile(r.Photo)) {
		t.Error("the copy is not byte for byte its original")
	}
	if after, err := os.Stat(src); err != nil || after.Size() != before.Size() || !after.ModTime().Equal(before.ModTime()) ||
		after.Mode() != before.Mode() {
		t.Errorf("the original changed: %v, %v", after, err)
	}
	got, err := b.PhotoBySHA(ctx, strings.ToUpper(want.SHA256))
	if err != nil || got.ID != want.ID {
		t.Errorf("PhotoBySHA = %+v, %v", got, err)
	}
	if _, err := b.PhotoBySHA(ctx, "00"); !errors.Is(err, ErrNotFound) {
		t.Errorf("PhotoBySHA of another = %v, want ErrNotFound", err)
	}
	if d := cmp.Diff([]string{"photos", "photos/.incoming", "photos/2026", "photos/2026/M-7", "photos/2026/M-7/IMG_0412.jpg"},
		booktest.Tree(t, b.Dir())); d != "" {
		t.Errorf("files (-want +got):\n%s", d)
	}
}

// The same content under another name, in another folder, is the same photo.
func TestRecordDuplicate(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	first := booktest.Record(t, b, "M-7", "a.jpg", "bloom")
	again := booktest.Record(t, b, "M-8", "b.jpg", "bloom")
	if !again.Duplicate || !again.SameAgain || again.NewPlant || again.Photo.ID != first.Photo.ID || again.Photo.Plant != "M-7" {
		t.Errorf("again: %+v, want the first photo, of M-7, and nothing new", again)
	}
	if n := [3]int{booktest.Count(t, b, "photo"), booktest.Count(t, b, "reading"), booktest.Count(t, b, "plant")}; n != [3]int{1, 1, 1} {
		t.Errorf("%v photos, readings and plants, want 1 each", n)
	}
	// Measured anew, by a better method: a further reading, and it counts.
	better := booktest.Reading("bloom")
	better.Method, better.Lab = 2, &colorimg.Triple{70, 20, 30}
	r := must.Have(b.Record(ctx, Entry{File: first.Photo.Name, Season: "2026", Plant: "M-7", Reading: better}))(t) // the file is not needed
	if !r.Duplicate || r.SameAgain || r.Photo.Readings != 2 {
		t.Errorf("measured anew: %+v, want a second reading", r)
	}
	rs, err := b.Readings(ctx, "marigold", "2026")
	if err != nil || len(rs) != 1 || rs[0].Measured.Method != 2 || *rs[0].Measured.Lab != *better.Lab {
		t.Errorf("Readings = %+v, %v, want the newest alone", rs, err)
	}
	all, err := record.Readings(ctx, booktest.DB(t, b), "ORDER BY r.id")
	if err != nil || len(all) != 2 || all[0].Measured.Method != 1 {
		t.Errorf("%d readings, %v, want both, the oldest first", len(all), err)
	}
}

func TestRecordUnassigned(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	r := booktest.Record(t, b, "", "IMG_1.jpg", "whose?")
	if r.Photo.Plant != "" || r.Photo.Path != "photos/2026/_unassigned/IMG_1.jpg" {
		t.Errorf("photo of an unknown plant: %+v", r.Photo)
	}
	rs, _ := b.Readings(context.Background(), "", "")
	if _, ok := rs[0].Observation(); len(rs) != 1 || ok || len(Observations(rs)) != 0 {
		t.Errorf("an unknown plant's reading %+v is ranked", rs)
	}
	// Its plant is named later.
	r = booktest.Record(t, b, "M-7", "IMG_1.jpg", "whose?")
	if !r.Duplicate || !r.NewPlant || r.Photo.Plant != "M-7" {
		t.Errorf("assigned: %+v, want plant M-7", r)
	}
}

func TestRecordNames(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	for i, c := range []struct{ name, want string }{
		{"a.jpg", "photos/2026/M-7/a.jpg"},
		{"a.jpg", "photos/2026/M-7/a-2.jpg"},
		{"a.jpg", "photos/2026/M-7/a-3.jpg"},
		{`..\..\evil.jpg`, "photos/2026/M-7/_.._evil.jpg"},
		{"...jpg", "photos/2026/M-7/jpg"},
		{".hidden.png", "photos/2026/M-7/hidden.png"},
		{"con.jpg", "photos/2026/M-7/con_.jpg"},
		{"a\nb?.jpg", "photos/2026/M-7/a_b_.jpg"},
	} {
		if got := booktest.Record(t, b, "M-7", c.name, string(rune('a'+i))).Photo.Path; got != c.want {
			t.Errorf("%q lies at %q, want %q", c.name, got, c.want)
		}
	}
}

// Whatever fails, no row and no file is left.
func TestRecordFails(t *testing.T) {
	t.Parallel()
	good := func(b *Book, t *testing.T) Entry {
		return Entry{File: booktest.WriteFile(t, "a.jpg", "x"), Line: "marigold", Season: "2026", Plant: "M-1", Reading: booktest.Reading("x")}
	}
	for name, spoil := range map[string]func(*testing.T, *Book, *Entry){
		"no such file":       func(_ *testing.T, _ *Book, e *Entry) { e.File += "x" },
		"a folder":           func(_ *testing.T, _ *Book, e *Entry) { e.File = filepath.Dir(e.File) },
		"other content":      func(_ *testing.T, _ *Book, e *Entry) { e.Reading = booktest.Reading("y") },
		"no reading":         func(_ *testing.T, _ *Book, e *Entry) { e.Reading = nil },
		"no colour":          func(_ *testing.T, _ *Book, e *Entry) { e.Reading.Lab = nil },
		"no status":          func(_ *testing.T, _ *Book, e *Entry) { e.Reading.Status = "" },
		"refused for nought": func(_ *testing.T, _ *Book, e *Entry) { e.Reading.Status = colorimg.Refused },
		"NaN": func(_ *testing.T, _ *Book, e *Entry) {
			zero := 0.0
			e.Reading.Card.CCT = zero / zero
		},
		"no season":         func(_ *testing.T, _ *Book, e *Entry) { e.Season = "" },
		"season outside":    func(_ *testing.T, _ *Book, e *Entry) { e.Season = ".." },
		"plant outside":     func(_ *testing.T, _ *Book, e *Entry) { e.Plant = "../../M-1" },
		"new, without line": func(_ *testing.T, _ *Book, e *Entry) { e.Line = "" },
		"a file where the season's folder should be": func(t *testing.T, b *Book, e *Entry) {
			must.OK(t, os.WriteFile(filepath.Join(b.Dir(), "photos", "2026"), nil, 0o644))
		},
		"a file where photos should be": func(t *testing.T, b *Book, e *Entry) {
			dir := filepath.Join(b.Dir(), "photos")
			must.OK(t, os.RemoveAll(dir))
			must.OK(t, os.WriteFile(dir, nil, 0o644))
		},
		// After the photo is in its place: the reading's row is refused.
		"the last row": func(t *testing.T, b *Book, e *Entry) {
			must.Have(b.DB().Exec("CREATE TRIGGER refuse BEFORE INSERT ON reading BEGIN SELECT raise(ABORT, 'no'); END"))(t)
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := booktest.New(t)
			e := good(b, t)
			spoil(t, b, &e)
			before := booktest.Tree(t, b.Dir())
			if r, err := b.Record(context.Background(), e); err == nil {
				t.Fatalf("Record = %+v, want an error", r)
			} else if strings.Contains(err.Error(), "\n") {
				t.Errorf("the error is not one line: %q", err)
			}
			var after []string
			for _, f := range booktest.Tree(t, b.Dir()) {
				if f != "photos/.incoming" {
					after = append(after, f)
				}
			}
			booktest.Same(t, "files", before, after)
			if n := [4]int{booktest.Count(t, b, "photo"), booktest.Count(t, b, "reading"), booktest.Count(t, b, "plant"), booktest.Count(t, b,
				"line")}; n != [4]int{} {
				t.Errorf("%v photos, readings, plants and lines, want none", n)
			}
		})
	}
	t.Run("interrupted", func(t *testing.T) {
		b := booktest.New(t)
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if _, err := b.Record(ctx, good(b, t)); !errors.Is(err, context.Canceled) {
			t.Errorf("Record = %v, want context.Canceled", err)
		}
	})
	t.Run("another line's plant", func(t *testing.T) {
		b := booktest.New(t)
		booktest.Record(t, b, "M-1", "b.jpg", "y")
		e := good(b, t)
		e.Line = "cosmos"
		if _, err := b.Record(context.Background(), e); err == nil || !strings.Contains(err.Error(),
			`plant "M-1" belongs to line "marigold", not "cosmos"`) {
			t.Errorf("Record = %v", err)
		}
		if n := booktest.Count(t, b, "photo"); n != 1 {
			t.Errorf("%d photos, want the first alone", n)
		}
	})
}

// A run that was killed between moving the photo and committing leaves the
// file without a row; the next run takes it over instead of doubling it.
func TestRecordTakesOver(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	dir := filepath.Join(b.Dir(), "photos", "2026", "M-7")
	must.OK(t, os.MkdirAll(dir, 0o777))
	must.OK(t, os.WriteFile(filepath.Join(dir, "a.jpg"), []byte("bloom"), 0o644))
	if got := booktest.Record(t, b, "M-7", "a.jpg", "bloom").Photo.Path; got != "photos/2026/M-7/a.jpg" {
		t.Errorf("the photo lies at %q, want the file left behind", got)
	}
	if got := booktest.Record(t, b, "M-7", "a.jpg", "other").Photo.Path; got != "photos/2026/M-7/a-2.jpg" {
		t.Errorf("another photo lies at %q", got)
	}
	for _, f := range booktest.Tree(t, b.Dir()) {
		if strings.HasPrefix(f, "photos/.incoming/") {
			t.Errorf("left in the incoming folder: %q", f)
		}
	}
}
