package book

import (
	"context"
	"time"

	"hueward/colorimg"
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

// Entry is one measured photo to be kept.
type Entry struct {
	File    string            // the photo to copy in; it is neither moved nor changed
	Line    string            // of a plant that is new; empty: the plant must be in the book, or be empty too
	Season  string            // in which the photo was taken; not empty
	Plant   string            // id; empty: not known, the photo is kept unassigned
	Reading *colorimg.Reading // not nil; its SHA256 must be that of File
}

// Recorded says what Record did.
type Recorded struct {
	Photo     Photo
	Duplicate bool // the same photo was in the book already; its file was not copied again
	SameAgain bool // and its newest reading says the same, so none was added
	NewPlant  bool // the plant was not in the book
}

// Record keeps a measured photo: adds the plant when new, copies the photo
// in and stores its reading, all or nothing.
func (b *Book) Record(ctx context.Context, e Entry) (*Recorded, error) { panic("not yet") }

// PhotoBySHA returns the photo with that content, or ErrNotFound.
func (b *Book) PhotoBySHA(ctx context.Context, sha256 string) (*Photo, error) { panic("not yet") }

// Photos returns photos in order of season, plant and name; an empty season or plant chooses all.
func (b *Book) Photos(ctx context.Context, season, plant string) ([]Photo, error) { panic("not yet") }

// PhotoFile returns where the photo's copy lies on disk.
func (b *Book) PhotoFile(p Photo) string { panic("not yet") }
