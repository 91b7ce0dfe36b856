// Package colorimg measures the petal colour of a flower in a photo with a
// grey card in it.
//
// Start with [Measure] for one photo, [Batch] for many. Colours are CIELAB
// under D65, 2 degree observer, or linear light with the sRGB primaries, not
// clipped; positions are full-size pixels of the photo as displayed. A photo
// is opened (package photo), what its phone is known to add to colours is
// undone (camera), its plant's tag or photo sheet read (tag), its card, strip
// (card) or set of patches (patches) found, the light corrected, the petals
// found and their colours read (petal). What cannot be measured is refused
// with a reason; what is doubtful carries a flag.
//
// It knows nothing of lines, targets or books: a plant is a name to it.
package colorimg
