package book

import (
	"context"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
)

// Reading is the newest reading of one photo, or a reading by an instrument.
type Reading struct {
	ID     int64
	Plant  string // id; empty: not known which plant it shows
	Line   string // of the plant
	Season string // of the photo
	Source string // "photo", or the instrument's name
	Photo  *Photo // nil for an instrument
	// Measured is the reading in full: File is the photo's name, Mask nil.
	Measured   colorimg.Reading
	MeasuredAt time.Time
}

// InstrumentReading is a plant's colour measured without a photo.
type InstrumentReading struct {
	Plant, Season, Source string // Source: the instrument; not empty, not "photo"
	Lab                   cie.Lab
	SE                    float64 // Delta E; 0: not known
	At                    time.Time
}

// AddReading stores a further reading of a photo; the newest counts.
func (b *Book) AddReading(ctx context.Context, photoID int64, r *colorimg.Reading) error {
	panic("not yet")
}

// AddInstrumentReading stores a reading that has no photo.
func (b *Book) AddInstrumentReading(ctx context.Context, r InstrumentReading) error {
	panic("not yet")
}

// Readings returns the newest reading of every photo of the line's plants in
// the season, and the readings by instruments, refused ones included, in
// natural order of plant and then photo. An empty line or season chooses all;
// with an empty line, photos of unknown plants come too.
func (b *Book) Readings(ctx context.Context, line, season string) ([]Reading, error) {
	panic("not yet")
}

// Observations returns the readings of known plants in the form that
// selection.Rank takes.
func Observations(rs []Reading) []selection.Observation { panic("not yet") }
