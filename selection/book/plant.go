package book

import (
	"context"
	"time"
)

// Status is what has become of a plant.
type Status string

// The statuses of a plant. Growing is that of a new one.
const (
	Growing Status = "growing"
	Kept    Status = "kept"     // chosen as a parent
	Reserve Status = "reserve"  // held until the kept ones are safe
	Passed  Status = "passed"   // not chosen
	OffType Status = "off-type" // removed from a line held true
	Lost    Status = "lost"     // died, eaten, label gone
)

// Plant is one plant of a line.
type Plant struct {
	ID           string // letters, digits, - _ . ; unique in the book whatever its case
	Line         string
	Season       string // in which it was sown
	Status       Status // empty: Growing
	SeedParent   string // id; empty: not known
	PollenParent string // id; empty: not known or open-pollinated
	FounderGroup string // of a founder: the bought variety or lot it came from
	// FounderInbreeding is the inbreeding coefficient of a founder, 0 to 1;
	// nil: not known, or not a founder.
	FounderInbreeding *float64
	Note              string
	AddedAt           time.Time
	Photos            int // photos of all seasons; filled in by Plants
}

// PlantFilter chooses plants; an empty field chooses all.
type PlantFilter struct {
	Line, Season string
	Status       Status
	IDs          []string
}

// AddPlant adds a plant, its line and its season when new. It returns
// ErrDuplicate when the id is taken and ErrNotFound for an unknown parent.
func (b *Book) AddPlant(ctx context.Context, p Plant) error { panic("not yet") }

// Plant returns one plant, or ErrNotFound.
func (b *Book) Plant(ctx context.Context, id string) (*Plant, error) { panic("not yet") }

// Plants returns the chosen plants in natural order of id.
func (b *Book) Plants(ctx context.Context, f PlantFilter) ([]Plant, error) { panic("not yet") }

// SetStatus changes the status of plants, all or none.
func (b *Book) SetStatus(ctx context.Context, s Status, ids ...string) error { panic("not yet") }

// SetNote replaces the note of a plant.
func (b *Book) SetNote(ctx context.Context, id, note string) error { panic("not yet") }
