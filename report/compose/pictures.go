package compose

import (
	"context"
	"runtime"

	"golang.org/x/sync/errgroup"

	"hueward/colorimg/photo"
	"hueward/report"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// Pictures puts a thumbnail of each photo into s, from the book's copies. For a
// copy that cannot be opened it calls warn, and leaves the photo without one.
func Pictures(ctx context.Context, b *book.Book, r *garden.Season, s *report.Season, warn func(format string, args ...any)) error {
	files := map[string]string{} // by content
	for _, rd := range r.Readings {
		if rd.Photo != nil {
			files[rd.Photo.SHA256] = b.PhotoFile(*rd.Photo)
		}
	}
	failed := make([]error, len(s.Photos))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range s.Photos {
		g.Go(func() error {
			p := &s.Photos[i]
			// Twice the thumbnail's size, so that making it small is smooth.
			im, err := photo.Open(ctx, files[p.Reading.SHA256], &photo.Options{Work: 2 * report.ThumbSide})
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if failed[i] = err; err == nil {
				p.Thumb = report.Thumbnail(im.Image.Display())
				im.Done()
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	for i, err := range failed {
		if p := &s.Photos[i]; err != nil && files[p.Reading.SHA256] == "" { // its place is not in the book's folder
			warn("the photo of %s, %.12s…, is not in the book's folder; the report shows its numbers without a picture", p.Plant, p.Reading.SHA256)
		} else if err != nil {
			warn("%v; the report shows its numbers without a picture", err)
		}
	}
	return nil
}
