package safety_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/safety"
)

// A book is backed up, changed, and put back as it was.
func ExampleRestore() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "book-*")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	dir = filepath.Join(dir, "garden")
	b, err := book.Create(ctx, dir, booktest.Clock)
	if err != nil {
		log.Fatal(err)
	}
	file, err := safety.Backup(ctx, b, "")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(filepath.Base(file))
	if err := b.AddLine(ctx, "marigold", ""); err != nil {
		log.Fatal(err)
	}
	if err := b.Close(); err != nil {
		log.Fatal(err)
	}
	if _, err := safety.Restore(ctx, dir, file, booktest.Noon); err != nil {
		log.Fatal(err)
	}
	if b, err = book.Open(ctx, dir, booktest.Clock); err != nil {
		log.Fatal(err)
	}
	defer b.Close()
	lines, err := b.Lines(ctx)
	if err != nil {
		log.Fatal(err)
	}
	found, err := safety.Check(ctx, b, nil)
	fmt.Println(len(lines), "lines,", len(found), "findings,", err)
	// Output:
	// book-2026-08-14T120000Z.db
	// 0 lines, 0 findings, <nil>
}
