// Package selection turns measured colours into a season's decisions: how far
// each plant is from the shade that is wanted, what it passes on, which plants to
// keep, whom to cross, how many to grow, and whether the line moves.
//
// Start with [Rank] for one season's plants; with [Predict] for what plants pass on,
// and then [Pairs] and [PlanAhead]; with [Trend] for a line's seasons. Colours are
// L*, a*, b* under D65, 2 degree observer; distances are CIEDE2000 ("Delta E"),
// variances are in squared Lab units. A plant's colour is the weighted mean of its
// photos; what scatters between photos of one plant is told apart from what differs
// between plants ([Repeatability]). Every number that was assumed rather than
// estimated is named in a result's Assumed, and every doubt in its Warnings.
//
// The package knows nothing of pixels. Dominance is tested for in its folder classes,
// and not part of any prediction. Methods: see the source named at each function.
package selection
