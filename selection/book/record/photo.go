package record

import (
	"context"
	"time"

	"hueward/selection/book/sqlite"
)

// Photo is a photo kept in the book.
type Photo struct {
	ID       int64
	SHA256   string // of its bytes, in hex
	Plant    string // id; empty: not known which plant it shows
	Season   string
	Path     string    // in the book's folder, with forward slashes: "photos/2026/M-7/IMG_0412.jpg"
	Name     string    // the file name it came with
	Bytes    int64     // size of the file
	TakenAt  time.Time // zero: not written in the photo
	Camera   string
	Size     [2]int // width and height as displayed; 0, 0: could not be opened
	AddedAt  time.Time
	Readings int // how many readings it has
}

const photoColumns = `f.id, f.sha256, coalesce(p.name, ''), s.name, f.path, f.name, f.bytes, coalesce(f.taken_at, ''),
	f.camera, f.width, f.height, f.added_at, (SELECT count(*) FROM reading WHERE photo_id = f.id)`

const photoTables = ` FROM photo f JOIN season s ON s.id = f.season_id LEFT JOIN plant p ON p.id = f.plant_id `

// photoRow scans the columns of photoColumns.
type photoRow struct {
	Photo
	taken, added string
}

func (r *photoRow) fields() []any {
	return []any{&r.ID, &r.SHA256, &r.Plant, &r.Season, &r.Path, &r.Name, &r.Bytes, &r.taken,
		&r.Camera, &r.Size[0], &r.Size[1], &r.added, &r.Readings}
}

func (r *photoRow) photo() Photo {
	r.TakenAt, r.AddedAt = Time(r.taken), Time(r.added)
	return r.Photo
}

// Photos are those that where chooses, of photo f, its plant p and its season s.
func Photos(ctx context.Context, q Querier, where string, args ...any) ([]Photo, error) {
	rows, err := q.QueryContext(ctx, "SELECT "+photoColumns+photoTables+where, args...)
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	out := []Photo{}
	for rows.Next() {
		var r photoRow
		if err := rows.Scan(r.fields()...); err != nil {
			return nil, sqlite.Wrap(err)
		}
		out = append(out, r.photo())
	}
	return out, sqlite.Wrap(rows.Err())
}
