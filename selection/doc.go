// Package selection turns measured colours into a season's decisions: how far
// each plant is from the shade that is wanted, in which direction, how sure
// that is, and which plants to keep.
//
// Start with [Rank]. Colours are L*, a*, b* under D65, 2 degree observer;
// distances are CIEDE2000 ("Delta E"), variances are in squared Lab units. A
// plant's colour is the weighted mean of its photos; what scatters between
// photos of one plant is told apart from what differs between plants
// ([Repeatability]). Every number that was assumed rather than estimated is
// named in [Ranking.Assumed], and every doubt in [Ranking.Warnings].
//
// The package knows nothing of pixels, and does not predict offspring: a
// plant is judged here by its own colour alone. Methods: see the source named
// at each function.
package selection
