// Package camera learns what one phone does to colours, from a photo of a chart
// of patches, and undoes it in that phone's later photos.
//
// Start with [Fit]. For a later photo, pass the working picture to [Model.Correct] before anything else reads it:
// [Model.Uncurve] undoes the phone's tone curve, [Model.Apply] its saturation and crosstalk. Then read the grey card
// and multiply by its gains as usual. Apply keeps neutral colours neutral, and is independent of exposure.
//
// Colours go in and come out as linear light with the sRGB primaries, not clipped. Errors are Delta E 2000 against the
// chart's known colours, each patch predicted by a model that has not seen it (leave-one-out).
//
// One curve is fitted for all three channels, as phones use one. Processing that differs from place to place in a picture
// (local contrast, high dynamic range blending) cannot be learnt from a chart and is not undone. Methods: see the source
// under each function.
package camera
