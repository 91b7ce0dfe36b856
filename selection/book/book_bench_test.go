package book

import (
	"context"
	"database/sql"
	"fmt"
	"testing"
)

// A large garden's season: 2 000 plants, 5 000 photos, each measured twice.
func BenchmarkReadings(b *testing.B) {
	ctx := context.Background()
	k := newBook(b)
	record(b, k, "M-0", "0.jpg", "0") // the first by the front door, the others in one transaction
	err := k.write(ctx, func(tx *sql.Tx) error {
		plants := []int64{1}
		for i := 1; i < 2000; i++ {
			id, _, err := k.insertPlant(tx, Plant{ID: fmt.Sprintf("M-%d", i), Line: "marigold", Season: "2026"})
			if err != nil {
				return err
			}
			plants = append(plants, id)
		}
		for i := 1; i < 5000; i++ {
			content := fmt.Sprint(i)
			r := reading(content)
			path := fmt.Sprintf("photos/2026/M-%d/%d.jpg", i%2000, i)
			id, err := k.insertPhoto(tx, Entry{File: path, Season: "2026", Reading: r}, plants[i%2000], &incoming{sha256: r.SHA256}, path)
			if err != nil {
				return err
			}
			for range 2 {
				if err := k.insertReading(tx, id, r); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("readings", func(b *testing.B) {
		for b.Loop() {
			rs, err := k.Readings(ctx, "marigold", "2026")
			if err != nil || len(rs) != 5000 {
				b.Fatalf("%d readings, %v", len(rs), err)
			}
		}
	})
	b.Run("plants", func(b *testing.B) {
		for b.Loop() {
			ps, err := k.Plants(ctx, PlantFilter{Line: "marigold"})
			if err != nil || len(ps) != 2000 {
				b.Fatalf("%d plants, %v", len(ps), err)
			}
		}
	})
}
