package transfer

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// Twenty seasons of a large garden: a book of 40 000 plants and 100 000 readings,
// with their crosses, heads, packets and scores, goes out and comes back in.
func BenchmarkExchange(b *testing.B) {
	for _, c := range []struct {
		name string
		size size
	}{
		{"instrument", size{full.seasons, full.plants, full.readings, true}},
		{"photos", full}, // half of the readings of photos, each with an outline and what else a photo tells
	} {
		b.Run(c.name, func(b *testing.B) { benchmarkExchange(b, c.size) })
	}
}

func benchmarkExchange(b *testing.B, z size) {
	ctx := context.Background()
	from, dir := madeAndExported(b, z)
	b.Run("export", func(b *testing.B) {
		again := filepath.Join(b.TempDir(), "again")
		for b.Loop() {
			must.Have(ExportDir(ctx, from, again, false, false))(b)
			os.RemoveAll(again)
		}
	})
	for _, c := range []struct {
		name  string
		files []string
		opt   *ImportOptions
	}{
		{"import", csvFiles(b, dir), nil},
		{"import readings", []string{filepath.Join(dir, "readings.csv"), filepath.Join(dir, "plants.csv"), filepath.Join(dir, "photos.csv")},
			&ImportOptions{Ignore: []string{"sowing", "form", "habit", "trait:note", "scent"}}},
		{"import plants and scores", []string{filepath.Join(dir, "traits.csv"), filepath.Join(dir, "plants.csv"), filepath.Join(dir,
			"scores.csv")}, &ImportOptions{Ignore: []string{"sowing"}}},
	} {
		b.Run(c.name, func(b *testing.B) {
			rows := 0
			for b.Loop() {
				b.StopTimer()
				to := booktest.New(b)
				b.StartTimer()
				got := must.Have(Import(ctx, to, c.files, c.opt))(b)
				for _, f := range got.Tables {
					rows += f.Added
				}
				b.StopTimer()
				to.Close()
				b.StartTimer()
			}
			b.ReportMetric(float64(rows)/b.Elapsed().Seconds(), "rows/s")
		})
	}
	b.Run("pedigree", func(b *testing.B) {
		for b.Loop() {
			must.Have(from.Pedigree(ctx))(b)
		}
	})
	b.Run("plants", func(b *testing.B) {
		for b.Loop() {
			must.Have(from.Plants(ctx, book.PlantFilter{}))(b)
		}
	})
}
