// Package report writes a season's report: one self-contained HTML file
// that can be read on a phone, printed and kept, and the ranking as CSV.
//
// Start with [Write]; package compose fills in the [Season] that it takes. The package computes nothing that it shows:
// every number, name and word of advice comes from the caller. Only the geometry of drawings is computed here, such as the
// line around the target at which the difference reaches the tolerance. Colours are L*, a*, b* under D65, 2 degree
// observer; differences are Delta E 2000.
//
// The file loads nothing from the network and runs no script. Photos are included as small pictures encoded again from their
// pixels, so that no metadata of the camera (place, owner, serial number) is included, and files are
// named without their folders.
package report
