// Package colorimg measures the petal colour of a flower in a photo with a
// grey card in it.
//
// Start with [Measure] for one photo, [Batch] for many. Colours are CIELAB
// under D65, 2 degree observer, or linear light with the sRGB primaries, not
// clipped; positions are full-size pixels of the photo as displayed. A photo
// is opened (package photo), its card found and read (card), the light
// corrected, the petals found and their colours read (petal). What cannot be
// measured is refused with a reason; what is doubtful carries a flag.
//
// It knows nothing of plants, targets or books.
package colorimg
