// Package petal finds the petals of the main bloom in a photo whose light has
// been corrected, and measures their colours.
//
// Start with [Find], then [Bloom.Colors]. Positions are working pixels of a
// [photo.Linear], pixel centres at whole numbers; colours are CIELAB under
// D65, 2 degree observer.
//
// A small network that was trained on labelled photos ([net], ./learn) is run
// on the whole picture, to find the bloom that is meant; then on the
// surroundings of that bloom, to segment it; and once more on their mirror image
// where it is unsure. Along the outline, each working pixel is also judged by its
// own colour. The network's probabilities say how sure the outline is ([Bloom.Sure]).
//
// The package does not name the flower, and has no table of flower colours.
package petal
