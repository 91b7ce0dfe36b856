// Package patches reads sets of colour patches: what their colours are, from
// CGATS.17 text files, and what a photo shows of them.
//
// Start with [Parse], then [Set.Find] the set in a picture, or take its four corners from the user, and [Set.Read] it.
// What comes out, a list of [Sample], holds for each patch the light that the camera recorded and the colour that it is
// known to have; fitting one to the other is somebody else's job.
//
// Positions are working pixels of a [photo.Linear], pixel centres at whole numbers. Known colours are XYZ under D65, 2
// degree observer; a file that gives them under D50, as most do, is adapted by the Bradford transform.
package patches
