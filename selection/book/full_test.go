package book_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book/booktest"
)

// A full disk is said in so many words, and what was to be written is not there in
// part.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	b.DB().SetMaxOpenConns(1) // the limit is one connection's
	var pages int
	must.OK(t, b.DB().QueryRow("PRAGMA page_count").Scan(&pages))
	must.Have(b.DB().Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)))(t)
	before := booktest.Rows(t, b)
	err := b.SetNote(ctx, "M-1", strings.Repeat("a long note. ", 20_000))
	if err == nil || !strings.Contains(err.Error(), "the disk is full; make room and try again") {
		t.Errorf("a full disk: %v", err)
	}
	booktest.Same(t, "changed all the same", before, booktest.Rows(t, b))
	must.Have(b.DB().Exec("PRAGMA max_page_count = 1000000"))(t)
	if err := b.SetNote(ctx, "M-1", "room again"); err != nil {
		t.Errorf("after room was made: %v", err)
	}
}
