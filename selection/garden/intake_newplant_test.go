package garden_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	. "hueward/selection/intake"
)

// A tag misread makes no plant, a check letter may be left out, and every new plant is
// told, with the one that may be meant. Before, each of these names made a plant in
// silence.
func TestNewPlantsTold(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := bookWith(t, "buff")
	made := "26-008" + string(naming.CheckLetter("26-008"))
	for _, id := range []string{made, "M-06", "M-01"} {
		must.OK(t, b.AddPlant(ctx, book.Plant{ID: id, Line: "buff", Season: "2026"}))
	}
	in := must.Have(Open(ctx, b, &Options{Now: now}))(t)
	dir := t.TempDir()
	n := 0
	keep := func(p Photo) (string, error) {
		n++
		file := filepath.Join(dir, strings.Repeat("i", n)+".jpg")
		must.OK(t, os.WriteFile(file, []byte(file), 0o600))
		p.Measured = true
		rec, err := in.Keep(ctx, entryOf(t, file), p)
		if err != nil {
			return "", err
		}
		return rec.Photo.Plant, nil
	}
	for _, c := range []struct {
		photo Photo
		plant string
		code  Code
	}{
		{Photo{Said: "26-008"}, made, ""}, {Photo{Guess: "26-008"}, made, ""}, {Photo{Tag: strings.ToLower(made)}, made, ""},
		{Photo{Said: "26-008X"}, "", Misread}, {Photo{Tag: "26-008X"}, "", Misread}, {Photo{Said: "26-009X"}, "", Misread},
		{Photo{Guess: "26-008X"}, "", ""}, {Photo{Said: "none"}, "", BadName}, {Photo{Said: "M-01..M-03"}, "", BadName},
		{Photo{Said: "m06"}, "m06", ""}, {Photo{Guess: "M-1"}, "M-1", ""}, {Photo{Guess: "M-99"}, "M-99", ""}, {Photo{Guess: "m-01"}, "M-01", ""},
	} {
		got, err := keep(c.photo)
		var p *Problem
		if errors.As(err, &p) != (c.code != "") || c.code == "" && err != nil || c.code != "" && p.Code != c.code || got != c.plant {
			t.Errorf("%+v: plant %q, %v; want %q, %s", c.photo, got, err, c.plant, c.code)
		}
	}
	told, err := in.Told(ctx)
	want := []string{"3 new plants: m06, M-1, M-99; did you mean M-06 (m06), M-01 (M-1)?",
		`plant "26-008X": the last letter does not fit the number; look at the tag again; ` + made + " has that number; kept without a plant"}
	if err != nil || !slices.Equal(told, want) {
		t.Errorf("told %q, %v; want %q", told, err, want)
	}
	// Where the book makes no names, such ones are a grower's own, though one may fit.
	for _, own := range "ABCDEFGHJKLMNPQRSTVWXYZ" {
		name := "25-014" + string(own)
		if got, err := keep(Photo{Said: name}); err != nil || got != name {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}
