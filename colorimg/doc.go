// Package colorimg measures the petal colour of a flower in a photo with a
// grey card in it.
//
// Start with [Measure] for one photo, [Batch] for many, [Working] for one that a user corrects.
// Colours are CIELAB under D65, 2 degree observer, or linear light with the sRGB primaries, not
// clipped; positions are full-size pixels of the photo as displayed. A photo
// is opened (package photo); what its phone does to colours is
// undone, where that is known (camera); its plant's tag or photo sheet is read (tag); its card or strip
// (card) or set of patches (patches) is found; the light is corrected; and the petals
// are found and their colours read (petal). What cannot be measured is refused
// with a [Problem]; what is doubtful carries a [Flag]. Neither names a command
// or a control: [Hints] has the words for the place where they are shown.
//
// The package knows nothing of lines, targets or books: to it a plant is a name.
//
// # How a photo is measured
//
// measure.go shows the order. Everything from pixels to Lab is done in linear light
// with the sRGB primaries, never clipped to sRGB.
//
//  1. Open (photo/open.go). The size is checked before decoding: 256 MiB, 120
//     megapixels. The ICC profile gives XYZ, adapted from D50 to D65 by Bradford;
//     without a profile sRGB is assumed, and a damaged profile is flagged.
//  2. Reduce (photo/reduce.go). The mean of linear light becomes a working picture of
//     1024 pixels on its longest side, for large photos 768. All later steps use only
//     this picture, except for reading the tag. A black photo is refused.
//  3. Camera (camera/correct.go). Where the book has a model of the photo's camera, its
//     tone curve and colours are undone before any other step. First it is noted which
//     channels are cut off (clipped).
//  4. Tag and sheet (tag/find.go, tag/sheet.go, tagged.go). On a photo sheet, round
//     marks show where card and ring are, and the scale.
//  5. Card, strip or patches (light.go, card/find.go, card/strip.go, patches/find.go).
//     An even area is a card if it fills a quadrilateral, is grey in some daylight,
//     and stands out on all four sides. With a lighter and a darker one beside it, it is
//     a strip.
//  6. Gains (card/read.go). For each channel, the known reflectance over the mean of
//     the inner part of the patch; for a JPEG under 4 megapixels read to eighths of a chroma
//     quantisation step (photo/fine.go). The patch also gives the illuminant's colour temperature and the exposure.
//  7. Tone curve (card/stripcurve.go). A strip's white, grey and black give the tone curve of
//     each channel, which is undone. Where no camera's curve fits them, the photo is flagged.
//  8. Fall-off (even.go, card/gradient.go). The gradient of light across the card's whole face, shrunk towards
//     zero according to its error, is taken out of the whole picture.
//  9. Petals (bloom.go; package petal). The bloom that is meant is found and segmented,
//     without card, tag, disc florets and withered parts.
//  10. Colours (petal/colors.go, petal/zones.go). Channels that were cut off are estimated
//     from the others. Pixels a little inside the outline, without those in deep
//     shadow, give up to three colours; their shares include deep shadow. The reading is
//     the median of the largest. Petals that shade far from one colour into another are read
//     as a whole, and both colours are listed. Rings around the middle give the profile and the zones.
//  11. Errors (errors.go). Precision combines the scatter between parts of the bloom (as neighbouring
//     pixels are not independent), the uncertainty of the outline, the card's error
//     and a floor. Trueness adds
//     what one grey patch cannot correct, or the residual error of the camera model.
//  12. Judge (bloom.go, shade.go). Flags, with their words in flags.go, and the status
//     that follows from them. A photo whose card is unevenly lit is refused if ground or petals show
//     that the bloom lies in another light.
//
// The plant's name is Job.Plant, from the user; else that of the tag; else Job.Guess,
// from folder or file name. When any of this changes what a photo measures as, raise
// [Method]: readings store it, so that a book knows which were made in the same way.
//
// # Which figure is which
//
// Three kinds of photos show how accurate a reading is, and each has its tests:
//
//   - Drawn photos (package render; TestMeasureRendered, TestMeasureHard,
//     TestMeasureAwkward, TestPrecision). Their light is made by gains of linear
//     sRGB, as it is corrected here, and their shading is scaled so that the petals'
//     median is the truth. They cannot test these assumptions, which they share:
//     a median error of 0.3 is that of finding card and petals, not of colour.
//   - Photos computed from spectra (testdata/spectral; TestMeasureSpectral), which
//     share neither assumption: a median of about 2, of which 1.2 in hue and chroma; the rest is
//     lightness, since petals shade each other. This is the figure to quote.
//   - Composites of real photographs (TestRealPhotos, with HUEWARD_FULL=1): real
//     petals, grounds and cameras. Their card is laid in and their light changed by
//     gains of linear sRGB, so they test finding and reading, not correcting.
//
// # Ways of correcting the light
//
// Linear sRGB gains are used. They were compared with other ways, given the true petals
// and the true card. Delta E 2000, median and 95th percentile; a row of
// spectra has 2000 petals, the others 18 to 34 photos; a dash: there is no strip.
//
//	                            linear sRGB   Bradford      CAT02         CAT16         P3 gains     2020 gains    strip's curve
//	spectra, standard observer  0.43, 2.77    0.28, 1.65    0.34, 1.84    0.39, 2.14    0.27, 1.48   0.28, 1.51    –
//	spectra, camera at D65      0.93, 3.78    0.70, 4.17    0.79, 4.19    0.81, 4.31    0.83, 3.88   0.70, 3.82    –
//	spectra, camera balances    1.22, 4.18    1.13, 4.08    1.14, 4.08    1.07, 4.09    1.15, 4.08   1.13, 4.04    –
//	drawn, fair, grey card      0.26, 0.72    0.95, 2.84    1.00, 3.11    1.33, 3.24    0.55, 1.56   0.84, 2.35    –
//	drawn, fair, strip          0.25, 0.68    0.95, 2.84    1.02, 3.11    1.28, 3.25    0.58, 1.66   0.89, 2.34    0.27, 0.71
//	the same, phone's curve     2.50, 5.93    3.12, 5.54    3.14, 5.57    3.34, 5.92    2.81, 5.71   2.96, 5.30    0.29, 0.83
//	and the phone's saturation  4.89, 7.98    4.68, 6.91    4.56, 6.92    4.67, 7.01    4.26, 6.44   4.49, 6.63    2.33, 5.60
//	drawn, hard, grey card      1.99, 5.70    2.11, 5.74    2.11, 5.79    2.24, 5.70    2.02, 5.76   2.02, 5.76    –
//	drawn, hard, strip          2.55, 6.07    2.91, 10.14   2.95, 10.57   3.05, 10.67   2.34, 7.47   2.28, 8.40    0.26, 0.78
//	composites of real photos   0.49, 1.28    1.75, 5.20    1.87, 5.80    1.92, 5.68    1.15, 3.51   1.53, 4.55    –
//
// Drawn photos and composites favour the first column, which their light was made by. The
// spectra favour none: there the first column is at most 0.23 behind the best in the median. A
// tone curve costs far more than the choice of space, and a strip corrects it.
// Undoing a guessed curve would cost 2.4 on a photo that has none, and is not done.
package colorimg
