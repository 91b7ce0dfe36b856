package record

import (
	"context"
	"database/sql"
	"hueward/selection/book/sqlite"
	"time"
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

const photoColumns = `f.id, f.sha256, coalesce(p.name, ''), s.name, f.path, f.name, f.bytes, f.taken_at,
	f.camera, f.width, f.height, f.added_at, (SELECT count(*) FROM reading WHERE photo_id = f.id)`

const photoTables = ` FROM photo f JOIN season s ON s.id = f.season_id LEFT JOIN plant p ON p.id = f.plant_id `

// fields are where the columns of photoColumns go.
func (p *Photo) fields() []any {
	return []any{&p.ID, &p.SHA256, &p.Plant, &p.Season, &p.Path, &p.Name, &p.Bytes, AsTime(&p.TakenAt),
		&p.Camera, &p.Size[0], &p.Size[1], AsTime(&p.AddedAt), &p.Readings}
}

// Photos are those that where chooses, of photo f, its plant p and its season s.
func Photos(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Photo, error) {
	return sqlite.Collect(ctx, q, "SELECT "+photoColumns+photoTables+where, args, func(rows *sql.Rows, p *Photo) error {
		return rows.Scan(p.fields()...)
	})
}
