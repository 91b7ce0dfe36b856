package book_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// A request is done once, however often it comes and from however many at once; one
// that fails may be tried again; another content under the same id is another request.
func TestOnce(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	plants := func() int {
		t.Helper()
		list := must.Have(b.Plants(ctx, PlantFilter{}))(t)
		return len(list)
	}
	was := plants()
	r := Request{ID: "a", Sum: "N-1"}
	if taken, _, err := b.Taken(ctx, r); taken || err != nil {
		t.Errorf("taken before it came: %v, %v", taken, err)
	}
	wrong := Plant{ID: "N-1", Line: "marigold", Season: "2026", SeedParent: "nobody"}
	if err := b.Once(r).AddPlant(ctx, wrong); !errors.Is(err, ErrNotFound) {
		t.Fatalf("an unknown parent: %v", err)
	}
	right := Plant{ID: "N-1", Line: "marigold", Season: "2026"}
	var mu sync.Mutex
	var done, again int
	var at sync.WaitGroup
	for range 8 {
		at.Go(func() {
			err := b.Once(r).AddPlant(ctx, right)
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				done++
			case errors.Is(err, ErrRepeated):
				again++
			default:
				t.Error(err)
			}
		})
	}
	at.Wait()
	if done != 1 || again != 7 || plants() != was+1 {
		t.Errorf("of eight at once %d were done, %d were repeats, %d plants added", done, again, plants()-was)
	}
	taken, c, err := b.Taken(ctx, r)
	if !taken || err != nil || c == nil || c.What != "plant N-1 added" {
		t.Errorf("taken %v, %+v, %v", taken, c, err)
	}
	if err := b.Once(Request{ID: "a", Sum: "N-2"}).AddPlant(ctx, Plant{ID: "N-2", Line: "marigold", Season: "2026"}); err != nil {
		t.Errorf("another content: %v", err)
	}
	if ids, err := b.TakenIDs(ctx, []string{"b", "a"}); err != nil || fmt.Sprint(ids) != "[a]" {
		t.Errorf("ids taken: %v, %v", ids, err)
	}
	// What was taken back stays so when the request comes once more.
	must.Have(b.Undo(ctx, 0))(t)
	if err := b.Once(Request{ID: "a", Sum: "N-2"}).AddPlant(ctx, Plant{ID: "N-2", Line: "marigold", Season: "2026"}); !errors.Is(err,
		ErrRepeated) {
		t.Errorf("after undo: %v", err)
	}
	// A book of several writes under one request does them all.
	both := b.Once(Request{ID: "both"})
	for _, id := range []string{"N-3", "N-4"} {
		if err := both.AddPlant(ctx, Plant{ID: id, Line: "marigold", Season: "2026"}); err != nil {
			t.Errorf("%s: %v", id, err)
		}
	}
}

// What was taken long ago is forgotten, so that the book does not grow with it.
func TestOnceForgotten(t *testing.T) {
	t.Parallel()
	dir := t.TempDir() + "/book"
	now := time.Date(2024, 5, 1, 8, 0, 0, 0, time.UTC)
	b := must.Have(Create(t.Context(), dir, &Options{Now: func() time.Time { return now }}))(t)
	defer b.Close()
	for i, want := range []bool{true, true, false} {
		must.OK(t, b.Once(Request{ID: fmt.Sprint(i)}).AddLine(t.Context(), fmt.Sprint("line ", i), ""))
		if taken, _, err := b.Taken(t.Context(), Request{ID: "0"}); taken != want || err != nil {
			t.Errorf("after %d times 300 days: taken %v, want %v; %v", i, taken, want, err)
		}
		now = now.Add(300 * 24 * time.Hour)
	}
}
