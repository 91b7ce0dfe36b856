package book

import (
	"context"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"strings"
	"time"

	"hueward/colorimg"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Entry is a measured photo for [Book.Record].
type Entry struct {
	File    string            // the photo to copy; it is neither moved nor changed
	Line    string            // for a new plant; empty: the plant must be in the book, or Plant be empty, too
	Season  string            // in which the photo was taken; not empty
	Plant   string            // id; empty: not known, and the photo is kept without a plant
	Reading *colorimg.Reading // not nil; its SHA256, if given, must be that of File
}

// Recorded is the result of [Book.Record].
type Recorded struct {
	Photo     Photo // as it is in the book now
	Duplicate bool  // the same photo was in the book already; its file was not copied again
	SameAgain bool  // Duplicate, and its newest reading is the same, so none was added
	NewPlant  bool  // the plant was added
	NewLine   bool  // the plant's line was added, too
}

// Record stores a measured photo: it adds the plant if it is new, copies the photo
// into the book and stores its reading, all or nothing. Refused readings are stored, too.
//
// A photo whose content is in the book already gets a further reading, if that differs from its newest, and is not
// copied again. It stays with its plant and season, whatever the entry says (see Recorded.Photo); only a photo without
// a plant is given one.
//
// A plant of another line than Entry.Line is an error, and so is a new plant
// without a line. When ctx ends before the photo is copied, nothing is kept.
func (b *Book) Record(ctx context.Context, e Entry) (*Recorded, error) {
	r, err := b.record(ctx, e)
	if err != nil {
		return nil, fmt.Errorf("keep photo %q: %w", e.File, err)
	}
	return r, nil
}

func (b *Book) record(ctx context.Context, e Entry) (_ *Recorded, err error) {
	if e.Reading == nil {
		return nil, errors.New("it has no reading")
	}
	if err := b.mayWrite(); err != nil {
		return nil, err
	}
	if err := record.CheckReading(e.Reading); err != nil {
		return nil, err
	}
	if e.Season, err = naming.CleanID(e.Season); err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	if e.Plant != "" {
		if e.Plant, err = naming.CleanID(e.Plant); err != nil {
			return nil, fmt.Errorf("plant: %w", err)
		}
	}
	// The slow part, a copy under a temporary name, comes first and outside the transaction.
	// A photo that is in the book already is not read again.
	sum := strings.ToLower(e.Reading.SHA256)
	var in *disk.Incoming
	if known, err := record.Photos(ctx, b.from, "WHERE f.sha256 = ?", sum); err != nil {
		return nil, err
	} else if len(known) == 0 {
		if in, err = disk.Receive(ctx, e.File, b.IncomingDir()); err != nil {
			if _, gone := disk.Stat(e.File); gone != nil && !disk.InTrouble(gone) {
				return nil, fmt.Errorf("%w: %w", ErrChanged, gone)
			}
			return nil, err
		}
		defer in.Discard() // no-op once it is in its place
		if sum != "" && in.SHA256 != sum {
			return nil, fmt.Errorf("%w; measure it again", ErrChanged)
		}
		sum = in.SHA256
	}

	var out Recorded
	var place *disk.Placed
	err = b.Change(ctx, func(t *record.Tx) string {
		known, err := record.Photos(context.Background(), t, "WHERE f.sha256 = ?", sum)
		t.Fail(err)
		var id int64
		if len(known) > 0 {
			out.Duplicate, id = true, known[0].ID
		}
		plant := b.plantOfEntry(t, e, known, &out)
		switch {
		case t.Err() != nil:
		case !out.Duplicate && in == nil:
			t.Fail(errors.New("it was taken out of the book just now; try again"))
		case !out.Duplicate:
			var path string
			path, place = b.place(t, in, e)
			id = b.insertPhoto(t, e, plant, in, path)
			t.NoteAdded("photo", id)
		case known[0].Plant == "" && plant != nil:
			t.Do("UPDATE photo SET plant_id = ? WHERE id = ?", plant, id)
		}
		if out.SameAgain = t.SameAsNewest(id, e.Reading); !out.SameAgain {
			b.InsertReading(t, id, e.Reading)
		}
		if t.Err() == nil {
			found, err := record.Photos(context.Background(), t, "WHERE f.id = ?", id)
			if t.Fail(err); err == nil {
				out.Photo = found[0]
			}
		}
		return "measured " + filepath.Base(e.File)
	})
	if err != nil {
		if !errors.Is(err, sqlite.ErrUnsure) {
			place.Undo()
		}
		return nil, err
	}
	return &out, nil
}

// plantOfEntry returns the row of the entry's plant, which it adds if new. It returns
// nil if the entry has none, or if the photo is in the book already with a plant.
func (b *Book) plantOfEntry(t *record.Tx, e Entry, known []Photo, out *Recorded) any {
	if e.Plant == "" || len(known) > 0 && known[0].Plant != "" || t.Err() != nil {
		return nil
	}
	id, isNew, err := record.NewPlant(context.Background(), t, e.Plant)
	t.Fail(err)
	var row int64
	if isNew {
		if e.Line == "" {
			t.Failf("plant %q: %w; say which line it belongs to", id, ErrNotFound)
		}
		row, out.NewLine = b.insertPlant(t, Plant{ID: id, Line: e.Line, Season: e.Season})
		out.NewPlant = true
		return row
	}
	var line string
	t.Get("SELECT p.id, n.name FROM plant p JOIN line n ON n.id = p.line_id WHERE p.key = ?", naming.Key(id)).Into(&row, &line)
	if e.Line != "" {
		want, err := naming.CleanLine(e.Line)
		if t.Fail(err); naming.Key(want) != naming.Key(line) {
			t.Failf("plant %q belongs to line %q, not %q", e.Plant, line, e.Line)
		}
	}
	return row
}

func (b *Book) insertPhoto(t *record.Tx, e Entry, plant any, in *disk.Incoming, path string) int64 {
	r := e.Reading
	var taken any
	if r.TakenAt != nil && !r.TakenAt.IsZero() {
		taken = r.TakenAt.Format(time.RFC3339Nano)
	}
	return t.Add("photo", "sha256, plant_id, season_id, path, name, bytes, taken_at, camera, width, height, added_at", in.SHA256, plant,
		t.Season(e.Season), path, filepath.Base(e.File), in.Bytes, taken, r.Camera, r.Size[0], r.Size[1], b.Stamp())
}

// incomingName is the folder under photos/ in which copies are made before they are moved to their place, so that no
// photo is there in part. It cannot be a season's folder, as no season's name begins with a full stop.
const incomingName = ".incoming"

// unassignedName is the folder of photos without a plant.
const unassignedName = "_unassigned"

// IncomingDir is the folder in which copies of photos are made before they are moved to their place.
func (b *Book) IncomingDir() string { return filepath.Join(b.dir, naming.PhotosFolder, incomingName) }

// place moves the copy to photos/<season>/<plant>/<name>, with a number in the name if there is such a file already,
// and returns the path in the book. If the file there has the same content, an interrupted run left it behind, and
// it is used. place must be called in a write transaction, so that no other writer interferes.
func (b *Book) place(t *record.Tx, in *disk.Incoming, e Entry) (rel string, p *disk.Placed) {
	plant, season := unassignedName, e.Season
	if e.Plant != "" {
		// As the book spells it, so that "m-1" and "M-1" share a folder.
		t.Get("SELECT name FROM plant WHERE key = ?", naming.Key(e.Plant)).Into(&plant)
		plant = naming.NotReserved(plant)
	}
	t.Get("SELECT name FROM season WHERE key = ?", naming.Key(e.Season)).Found(&season)
	name := naming.SafeName(filepath.Base(e.File))
	ext := path.Ext(name)
	for i := 1; t.Err() == nil; i++ {
		try := name
		if i > 1 {
			try = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), i, ext)
		}
		rel, err := naming.CheckPath(path.Join(naming.PhotosFolder, naming.NotReserved(season), plant, try))
		t.Fail(err)
		file := filepath.Join(b.dir, filepath.FromSlash(rel))
		var taken bool
		t.Get("SELECT EXISTS (SELECT 1 FROM photo WHERE path = ?)", rel).Into(&taken)
		free, err := disk.Free(file)
		t.Fail(err)
		switch {
		case t.Err() != nil || taken:
		case disk.Holds(file, in.Bytes, in.SHA256):
			return rel, disk.Kept(file)
		case free:
			p, err := in.MoveTo(file)
			t.Fail(err)
			return rel, p
		}
	}
	return "", nil
}
