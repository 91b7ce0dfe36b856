// Package selection turns measured colours into a season's decisions: how far each plant is from the shade you want,
// what it passes on, which plants to keep, whom to cross, how many to grow, and whether the line moves.
//
// Start with [Rank] for one season's plants; with [Predict] for what plants pass on, and then [Pairs] and [PlanAhead];
// package trend follows a line's seasons. Colours are L*, a*, b* under D65, 2 degree observer; distances are CIEDE2000
// ("Delta E"), variances are in squared Lab units. A plant's colour is the weighted mean of its photos; what scatters
// between photos of one plant is told apart from what differs between plants ([sample.Repeatability]). Every number
// that was assumed rather than estimated is named in a result's Assumed, and every doubt in its Warnings.
//
// # How a parent is chosen
//
// Package garden gathers a line's plants with all their ancestors and their readings of all seasons. From there:
//
//  1. Records (record.go, pool.go). Each plant's photos of a season become one record with
//     its own error; a photo that disagrees with the plant's others counts for less.
//  2. Pedigree (genetics/pedigree.go). Founder groups are places of their own before all
//     plants, so that selfs, inbred founders, bought varieties and unknown parents need
//     no rules of their own.
//  3. Strong genes (majorgene; genes.go, carried.go). A few genes with dominance are looked for
//     beside the many weak ones; what a plant carries hidden is said, and counts in pairs.
//     What is not known of their effects, and of the heritability along each axis of colour, moves all values together, and is in
//     their errors (unsure.go); chances are averaged over the two likeliest models of strong genes.
//  4. Components (genetics/reml.go). Restricted maximum likelihood. A prior (heritability
//     0.5, counted as 8 plants) keeps small books sound; values.go has all such guesses.
//  5. Values (genetics/evaluate.go). Henderson's mixed model equations: what each plant
//     passes on, from itself and all its relatives, with seasons apart. Beyond what can
//     be inverted they are iterated (genetics/iterate.go), with rough errors.
//  6. Ranking (rank.go). By the distance of the breeding value wherever parents are known,
//     else by the plant's own colour; with an interval (space/interval.go), the chance to be
//     among the kept by draws with a fixed seed (chance.go), and advice (advice.go). A held line is not
//     moved: all that are true are kept (held.go), and crossed in a ring (ring.go).
//     A plant's strong genes and its value must add up to the colour that was seen (own.go).
//  7. Pairs (pairs.go, offspring.go, crosses.go). By the expected distance of an offspring
//     over its whole distribution, and not by the nearest of ten: that would bet on what is
//     not known. How much offspring scatter is unsure along each axis of colour (genetics/axes.go), and
//     more in mixtures of founder groups (genetics/segregation.go). Crosses are chosen together, with coancestry
//     held down, and only where they are worth a bed: not much farther from the target than the best
//     ([Pairs] says how far). Of two that promise the same, that of more alike parents comes first: what parents differ by
//     may be the work of few genes with dominance, and their offspring need not lie half way. A plant that one of them needs is
//     kept or in reserve ([Ranking.Need]), and what the ranking drops is in none.
//  8. Ahead and behind: plan.go simulates seasons; packages trend and drift test
//     whether the line moves; package classes counts.
//
// The package knows nothing of pixels. Genes are taken to add up, but for the strong ones
// of step 3. Methods: see the source named at each function.
package selection
