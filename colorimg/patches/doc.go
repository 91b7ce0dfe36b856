// Package patches reads sets of colour patches: their known colours, from
// CGATS.17 text files, and how a photo shows them.
//
// Start with [Parse]; find the set in a picture by [Set.Find], or take its four corners from the user; then [Set.Read] it.
// The result, a list of [Sample], holds for each patch the light that the camera recorded and the known colour. Package
// camera fits one to the other.
//
// Positions are working pixels of a [photo.Linear], pixel centres at whole numbers. Known colours are XYZ under D65, 2
// degree observer; a file that gives them under D50, as most do, is adapted by the Bradford transform.
package patches
