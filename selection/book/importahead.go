package book

import (
	"iter"

	"hueward/selection/book/exchange"
)

// aheadRow is a row that was read ahead.
type aheadRow struct {
	line int
	vals []any
	errs []error
}

// How much of a file is read ahead: of large rows some 10 MB.
const (
	aheadRows    = 256
	aheadBatches = 16
)

// readAhead reads the rows of a table while those before them, and other tables,
// go into the book. It ends early when the import does.
func (im *importer) readAhead(t *exchange.Table) <-chan []aheadRow {
	batches := make(chan []aheadRow, aheadBatches)
	im.reading.Go(func() {
		defer close(batches)
		for more := true; more; {
			batch := make([]aheadRow, 0, aheadRows)
			var room []any
			for len(batch) < aheadRows {
				row, errs := t.Next()
				if row == nil {
					more = false
					if len(errs) > 0 {
						batch = append(batch, aheadRow{errs: errs})
					}
					break
				}
				if room == nil {
					room = make([]any, 0, aheadRows*len(row.Values))
				}
				from := len(room)
				room = append(room, row.Values...)
				batch = append(batch, aheadRow{row.Line, room[from:len(room):len(room)], errs})
			}
			select {
			case batches <- batch:
			case <-im.ctx.Done():
				return
			}
		}
	})
	return batches
}

// next are the rows of the file, once; fewer when the import is called off.
func (s *source) next() iter.Seq[*aheadRow] {
	return func(yield func(*aheadRow) bool) {
		for batch := range s.ahead {
			for i := range batch {
				if !yield(&batch[i]) {
					return
				}
			}
		}
	}
}
