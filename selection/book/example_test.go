package book_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"

	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// A book is started, a measured photo is kept, and the plant that came with it noted.
func ExampleCreate() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "book-*")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	b, err := Create(ctx, filepath.Join(dir, "garden"), booktest.Clock)
	if err != nil {
		log.Fatal(err)
	}
	defer b.Close()
	file := filepath.Join(dir, "IMG_0412.jpg")
	if err := os.WriteFile(file, []byte("a bloom"), 0o666); err != nil {
		log.Fatal(err)
	}
	kept, err := b.Record(ctx, Entry{File: file, Line: "marigold", Season: "2026", Plant: "M-07", Reading: booktest.Reading("a bloom")})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(kept.Photo.Path, kept.NewPlant)
	if err := b.SetStatus(ctx, Kept, "m-07"); err != nil {
		log.Fatal(err)
	}
	plants, err := b.Plants(ctx, PlantFilter{Line: "Marigold"})
	if err != nil {
		log.Fatal(err)
	}
	for _, p := range plants {
		fmt.Println(p.ID, p.Status, p.Photos)
	}
	undone, err := b.Undo(ctx, 0)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("taken back:", undone.What)
	// Output:
	// photos/2026/M-07/IMG_0412.jpg true
	// M-07 kept 1
	// taken back: m-07: kept
}
