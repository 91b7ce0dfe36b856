package book

import (
	"fmt"
	"path"
	"path/filepath"
	"strings"

	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// incomingName is the folder under photos/ in which copies are made before
// they are moved to their place, so that a photo is there whole or not at
// all. No plant's or season's name begins with a full stop.
const incomingName = ".incoming"

// unassignedName stands for the plant of a photo that shows an unknown one.
const unassignedName = "_unassigned"

// IncomingDir is the folder in which copies of photos are made before they are moved
// to their place.
func (b *Book) IncomingDir() string { return filepath.Join(b.dir, naming.PhotosFolder, incomingName) }

// place moves the copy to photos/<season>/<plant>/<name>, with a number in the
// name when there is such a file already. A file of the very same content
// there is one that an interrupted run left behind, and is taken over. Called
// in a write transaction, so no other writer is at it. It returns the path in the book.
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
