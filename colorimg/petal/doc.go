// Package petal finds the petals of the main bloom in a photo whose light has
// been corrected, and says which colours they hold.
//
// Start with [Find], then [Bloom.Colors]. Positions are working pixels of a
// [photo.Linear], pixel centres at whole numbers; colours are CIELAB under
// D65, 2 degree observer.
//
// The picture is reduced to a small map and its colours to a palette of
// [paletteSize]. A bloom is a compact area whose palette colours are many
// inside it and few around it: from a first disc the two tallies, inside and
// around, are taken in turn with the area they imply until they settle. The
// disc florets are told from petals as the different colour in the middle. No
// learned model, no table of flower colours: a green petal among leaves is
// found if it differs from them.
//
// No source: our own method, judged by the figures of DEVELOPERS.md. It will
// not tell petals from a background of the very same colour; it flags it.
package petal
