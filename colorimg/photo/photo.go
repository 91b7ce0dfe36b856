// Package photo opens photographs from any camera: it handles format, orientation, colour
// profile and metadata, and makes a small picture in linear light.
//
// Start with [Open]. It takes JPEG, HEIC (8 and 10 bits, with a gain map or without), PNG (8 and 16 bits), TIFF (8 and
// 16 bits) and WebP; for any other file, and any damaged one, the error says what it is and what to do. [Linear]
// holds linear light, not codes: red, green and blue of the sRGB primaries under D65, 1 for white, and below 0 or above 1
// where a colour lies outside sRGB. "Stored" is the picture as in the file; "displayed" is the picture turned by
// its EXIF orientation, or for a HEIC by its container.
//
// An embedded ICC profile (matrix, grey or look-up table) is honoured by the relative colorimetric intent, with
// Bradford adaptation from D50 to D65. A photo without a usable one is read as sRGB, a PNG that states its gamma by that, and
// says so ([Photo.ProfileAssumed]). CMYK pictures, camera raw files and pictures in PQ or HLG, made for bright screens, are
// refused, as their colours would be a guess. Nothing of a photo's location is read.
//
// [WriteJPEG] makes photos for the demo and the tests. Methods: see the source under each function.
package photo

import (
	"image"
	"time"

	"hueward/colorimg/cie"
)

// Limits bounds what is opened. A zero field is its default.
type Limits struct {
	Pixels int64 // width × height; 0: 120 million
	Bytes  int64 // of the file; 0: 256 MiB
}

// Options says how to open. Nil and the zero value are the usual case.
type Options struct {
	Limits Limits
	Work   int // longest side of the linear picture, pixels; 0: 1024, or 768 of a photo of 8 megapixels and more
}

// Photo is an opened photograph.
type Photo struct {
	File           string
	SHA256         string    // of the file's bytes, in hex
	Format         string    // "jpeg", "png", "tiff", "webp", "heic"
	Width, Height  int       // as displayed, after orientation
	Taken          time.Time // capture time as written, in UTC digits when no zone is given; zero: not written
	Camera         string    // make and model; empty: not written
	Profile        string    // what the colours were read by: "sRGB", "Display P3", "Adobe RGB (1998)" …
	ProfileAssumed bool      // true: no usable profile in the file, sRGB or its primaries were assumed
	ProfileDamaged bool      // true: the file has a profile that cannot be used
	Image          *Linear

	// Coarse is the quantisation step of the mean colour of a small area, in units of 1/255: for a JPEG that of its
	// blocks' means, 0.5 or less as phones write it; 4 for a picture of at most 256 colours; 0: none beyond its numbers.
	Coarse float64

	stored image.Image // as in the file, for its lightness; nil: not opened from one
	turn   orientation // of stored

	file     []byte // its bytes, for Finer; nil: it has no use for them
	encoding *encoding

	giveBack func() // the memory it holds; nil: none
}

// Linear is a photo made small, in linear light with the sRGB primaries. Colours outside sRGB are kept as values below
// 0 or above 1. Working pixel (x, y) covers the full-size pixels around ((x+0.5)·ScaleX − 0.5, (y+0.5)·ScaleY − 0.5).
type Linear struct {
	W, H           int
	Pix            []float32 // 3 × W × H: red, green, blue, row by row, as displayed
	Clipped        []uint8   // W × H: share of the pixel's area with a channel at its largest stored value, 0 to 255
	ScaleX, ScaleY float64   // full-size pixels per working pixel, 1 or more

	// Native converts Pix to the photo's own linear red, green and blue, in which
	// a channel clips at 1. It is the identity for sRGB, and where it is not known.
	Native cie.Matrix
}
