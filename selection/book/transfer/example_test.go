package transfer_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/transfer"
)

// A table of plants is taken in, all of its rows or none.
func ExampleImport() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "book-*")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	b, err := book.Create(ctx, filepath.Join(dir, "garden"), booktest.Clock)
	if err != nil {
		log.Fatal(err)
	}
	defer b.Close()
	file := filepath.Join(dir, "plants.csv")
	for _, text := range []string{
		"plant,line,season,seed_parent\nM-02,marigold,2026,M-01\n",
		"plant,line,season,seed_parent\nM-02,marigold,2026,M-01\nM-01,marigold,2026,\n",
	} {
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			log.Fatal(err)
		}
		done, err := transfer.Import(ctx, b, []string{file}, nil)
		var wrong *transfer.ImportError
		if errors.As(err, &wrong) {
			fmt.Println(len(wrong.Problems), "mistake; nothing was imported")
			continue
		}
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(done.Tables[0].Added, "plants of the new line", done.Lines[0])
	}
	// Output:
	// 1 mistake; nothing was imported
	// 2 plants of the new line marigold
}
