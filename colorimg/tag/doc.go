// Package tag finds the plant's tag in a photo: a printed QR code that names
// the plant, and says how large it is printed, so that millimetres can be measured.
//
// Start with [Read] for the codes in a photo and [Choose] for the one that names the plant; [Parse] tells what a code's
// text says, [Tag.PixelsPerMM] measures by a code, and [Matrix] makes the code to print.
//
// # What is printed
//
// The text of a code of ours has three parts with colons between them:
//
//	HUEWARD:24:C-05       plant C-05; the code is 24 mm wide
//	HUEWARD:A5:C-05       plant C-05, on the photo sheet A5
//	HUEWARD:A5:           the photo sheet A5, for any plant
//	HUEWARD:A5/30:C-05    the same with the width of its code in millimetres
//	HUEWARD::C-05         plant C-05; the width is not said
//
// The width is that of the dark modules from edge to edge, without the white margin, and has a decimal point where it
// needs one. All that follows the second colon is the plant, letter by letter, colons and spaces included. The first
// two parts are printed in capitals, because a QR code holds capitals, digits and a few signs in two thirds of the
// room: a short plant name of these fits the smallest code, whose modules are the largest. They are read in either
// case. The format is kept: tags stay in gardens for years.
//
// Labels on heads and packets say HUEWARD:H:C-05-1 and HUEWARD:P:P26-003S; they name no plant, see [Label].
//
// A code made by another program is read too. It names a plant only when it can
// hardly be anything else: up to 24 letters, digits, spaces and the signs
// - _ . / #, not a web address, and not a row of more than eight digits, which is
// a number of the trade. So a label printed elsewhere with C-05 in it works, and
// a link on a seed packet in the picture names no plant.
//
// # Which tag is the plant's
//
// [Read] gives the largest code first. The tag held to the bloom is nearer to the camera than those of the plants
// behind, so [Choose] takes the largest that names a plant, and says when another names a different one.
//
// A code that is seen but cannot be read has an empty text. It is known by the
// square patterns in its corners, of which two must be whole.
//
// Sources: ISO/IEC 18004 for the symbol; the error correction and the bits are left to github.com/makiuchi-d/gozxing.
// How codes are found is described in find.go, finder.go and fit.go. Mirrored codes and codes printed light on dark are
// not read.
package tag
