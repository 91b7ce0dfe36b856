// Package selection turns measured colours into a season's decisions: how far each plant is from the shade you want,
// what it passes on, which plants to keep, whom to cross, how many to grow, and whether the line moves.
//
// Start with [Rank] for one season's plants; with [Predict] for what plants pass on, and then [Pairs] and [PlanAhead];
// package trend follows a line's seasons. Colours are L*, a*, b* under D65, 2 degree observer; distances are CIEDE2000
// ("Delta E"), variances are in squared Lab units. A plant's colour is the weighted mean of its photos; the scatter
// between photos of one plant is estimated apart from the differences between plants ([sample.Repeatability]). A result
// names every number that was assumed rather than estimated in its Assumed, and every doubt in its Warnings.
//
// # How a parent is chosen
//
// Package garden gathers a line's plants with all their ancestors and their readings of all seasons. From there:
//
//  1. Records (record.go, pool.go). Each plant's photos of a season become one record with
//     its own error; a photo that disagrees with the plant's others counts for less.
//  2. Pedigree (genetics/pedigree.go). Founder groups are entries of the pedigree, before all plants,
//     so that selfs, inbred founders, bought varieties and unknown parents need no rules of their own.
//  3. Strong genes, that is major genes (majorgene; genes.go, carried.go). A few genes with dominance
//     are looked for beside the many weak ones. A plant's hidden alleles are reported, and count in pairs.
//     Their effects and the heritability along each axis of colour are estimates; an error in them shifts all
//     breeding values together and is included in the values' errors (unsure.go). Chances are averaged over
//     the two likeliest models of strong genes.
//  4. Variance components (genetics/reml.go). Restricted maximum likelihood. A prior (heritability
//     0.5, counted as 8 plants) keeps small books sound; values.go has all such guesses.
//  5. Breeding values (genetics/evaluate.go). Henderson's mixed model equations: what each plant
//     passes on, from its own records and those of all its relatives, with season effects. Equations
//     too large to invert are solved by iteration (genetics/iterate.go), with approximate errors.
//  6. Ranking (rank.go). By the distance of the breeding value wherever parents are known,
//     else by the plant's own colour; with an interval (space/interval.go), the chance of belonging to
//     the kept by draws with a fixed seed (chance.go), and advice (advice.go). A held line is not
//     moved: all plants that are true are kept (held.go), and crossed in a ring (ring.go).
//     A plant's strong genes and its breeding value must add up to the colour that was seen (own.go).
//  7. Pairs (pairs.go, offspring.go, crosses.go). By the expected distance of an offspring over its
//     whole distribution. The nearest of ten offspring is no criterion, as it favours uncertain parents.
//     The variance among offspring is itself an estimate along each axis of colour (genetics/axes.go), and is
//     larger in mixtures of founder groups (genetics/segregation.go). Crosses are chosen as a set that limits
//     coancestry, and only where they are worth a bed: not much farther from the target than the best
//     ([Pairs] says how far). Of two crosses that promise the same, the one with the more similar parents comes first:
//     a large difference may be due to a few genes with dominance, and then offspring need not lie half way.
//     A plant that a chosen cross needs is kept or in reserve ([Ranking.Need]).
//  8. Ahead and behind: plan.go simulates seasons; packages trend and drift test
//     whether the line moves; package classes counts colour classes.
//
// The package knows nothing of pixels. Genes are taken to add up, but for the strong ones
// of step 3. Methods: see the source named at each function.
package selection
