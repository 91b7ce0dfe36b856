// Package photo opens other people's photographs: format, orientation, colour
// profile, capture facts; and makes of each a small picture in linear light.
package photo

import "time"

// Limits bounds what is opened. A zero field is its default.
type Limits struct {
	Pixels int64 // width × height; 0: 120 million
	Bytes  int64 // of the file; 0: 256 MiB
}

// Options says how to open. Nil and the zero value are the usual case.
type Options struct {
	Limits Limits
	Work   int // longest side of the linear picture, pixels; 0: 1024
}

// Photo is an opened photograph.
type Photo struct {
	File           string
	SHA256         string    // of the file's bytes, in hex
	Format         string    // "jpeg", "png", "tiff", "webp"
	Width, Height  int       // as displayed, after orientation
	Taken          time.Time // capture time as written, in UTC digits when no zone is given; zero: not written
	Camera         string    // make and model; empty: not written
	Profile        string    // what the colours were read by: "sRGB", "Display P3", "Adobe RGB (1998)" …
	ProfileAssumed bool      // true: no usable profile in the file, sRGB was assumed
	Image          *Linear
}

// Linear is a photo made small, in linear light with the sRGB primaries.
// Colours outside sRGB are kept as values below 0 or above 1.
// Working pixel (x, y) covers the full-size pixels around
// ((x+0.5)·ScaleX − 0.5, (y+0.5)·ScaleY − 0.5).
type Linear struct {
	W, H           int
	Pix            []float32 // 3 × W × H: red, green, blue, row by row, as displayed
	Clipped        []uint8   // W × H: share of the pixel's area with a channel at its largest stored value, 0 to 255
	ScaleX, ScaleY float64   // full-size pixels per working pixel, 1 or more
}
