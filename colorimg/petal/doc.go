// Package petal finds the petals of the main bloom in a photo whose light has
// been corrected, and says which colours they hold.
//
// Start with [Find], then [Bloom.Colors]. Positions are working pixels of a
// [photo.Linear], pixel centres at whole numbers; colours are CIELAB under
// D65, 2 degree observer.
//
// A small network that has learnt from labelled photos ([net], ./learn) looks
// at the whole picture, to find the bloom that is meant, then at what surrounds
// that bloom, to draw it, and once more, mirrored, where it is unsure. Along the
// outline each working pixel is judged by its own colour too. The network's
// probabilities say how sure the outline is ([Bloom.Sure]).
//
// It will not name the flower, and it knows no table of flower colours.
package petal
