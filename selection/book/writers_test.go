package book_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// Many goroutines keep photos of the same few plants at once, some of them the
// same photo: nothing is lost and nothing doubled.
func TestRecordConcurrently(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	const workers, each = 8, 12
	var wg sync.WaitGroup
	errs := make(chan error, workers*each)
	for w := range workers {
		wg.Go(func() {
			for i := range each {
				content := fmt.Sprintf("photo %d of %d", i, w%4) // two workers have the same photos
				_, err := b.Record(context.Background(), Entry{
					File: booktest.WriteFile(t, "IMG_1.jpg", content), Line: "marigold", Season: "2026",
					Plant: fmt.Sprintf("M-%d", i%5), Reading: booktest.Reading(content),
				})
				errs <- err
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		if err != nil {
			t.Error(err)
		}
	}
	checkWhole(t, b, 4*each, 5)
}

// checkWhole checks the number of photos and plants, and that each photo's
// file is there once with the content that the book says.
func checkWhole(t *testing.T, b *Book, photos, plants int) {
	t.Helper()
	if n := [3]int{booktest.Count(t, b, "photo"), booktest.Count(t, b, "reading"), booktest.Count(t, b, "plant")}; n != [3]int{photos, photos,
		plants} {
		t.Errorf("%v photos, readings and plants, want %d, %d, %d", n, photos, photos, plants)
	}
	ps := must.Have(b.Photos(context.Background(), "", ""))(t)
	files := 0
	for _, f := range booktest.Tree(t, b.Dir()) {
		if strings.HasSuffix(f, ".jpg") {
			files++
		}
		if strings.HasPrefix(f, "photos/.incoming/") {
			t.Errorf("left behind: %q", f)
		}
	}
	if files != len(ps) {
		t.Errorf("%d files for %d photos", files, len(ps))
	}
	for _, p := range ps {
		content, err := os.ReadFile(b.PhotoFile(p))
		if err != nil {
			t.Error(err)
		} else if booktest.Reading(string(content)).SHA256 != p.SHA256 {
			t.Errorf("%s is not the photo that the book says", p.Path)
		}
	}
	var sound string
	if err := b.DB().QueryRow("PRAGMA integrity_check").Scan(&sound); err != nil || sound != "ok" {
		t.Errorf("integrity_check = %q, %v", sound, err)
	}
}

// Two programs write to one book at the same time; each waits for the other.
func TestRecordTwoPrograms(t *testing.T) {
	t.Parallel()
	const each = 15
	if dir := os.Getenv("HUEWARD_TEST_WRITER"); dir != "" {
		b := must.Have(Open(context.Background(), dir, booktest.Clock))(t)
		defer b.Close()
		who := os.Getenv("HUEWARD_TEST_WHO")
		for i := range each {
			booktest.Record(t, b, "M-"+strconv.Itoa(i%3), "a.jpg", who+strconv.Itoa(i))
		}
		return
	}
	b := booktest.New(t)
	var wg sync.WaitGroup
	for _, who := range []string{"first", "second"} {
		wg.Go(func() {
			c := exec.Command(os.Args[0], "-test.run", "^TestRecordTwoPrograms$")
			c.Env = append(os.Environ(), "HUEWARD_TEST_WRITER="+b.Dir(), "HUEWARD_TEST_WHO="+who)
			if out, err := c.CombinedOutput(); err != nil {
				t.Errorf("%s: %v\n%s", who, err, out)
			}
		})
	}
	wg.Wait()
	checkWhole(t, b, 2*each, 3)
}
