// Package report shows a season to the grower: one self-contained HTML file
// that can be read on a phone, printed and kept, and the ranking as CSV.
//
// Start with [Write]. It takes a filled [Season] and computes nothing that it shows: every number, name and word of
// advice is the caller's. Only the geometry of drawings is worked out here, such as the line around the target at which
// the difference reaches the tolerance. Colours are L*, a*, b* under D65, 2 degree observer; differences are Delta E
// 2000.
//
// The file asks nothing of the network and runs no script. Photos go in as small pictures encoded anew from their
// pixels, so nothing that the camera wrote beside them (place, owner, serial number) can come along, and files are
// named without their folders.
package report
