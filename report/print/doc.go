// Package print makes the sheets that a grower prints, as PDF.
//
// Start with [PhotoSheets]: the paper that card and bloom are laid on to be photographed. What is where on it is said
// by [tag.Sheet]; this package draws it, adds words, and changes nothing of its geometry, by which photos of it are
// read. All lengths are millimetres.
//
// Plants' names are printed in the Go fonts, which hold Latin, Greek and Cyrillic letters; [Unprintable] tells which
// characters of a name they lack. The code holds the name whole in any case.
//
// The same options give the same bytes.
package print
