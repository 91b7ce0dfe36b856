// Package genetics predicts what plants pass on: inbreeding and relationships from a pedigree, variance components and
// breeding values from records in any number of traits; and it names generations.
//
// Start with [NewPedigree], then [FitComponents] and [Evaluate]; [Generations] stands by itself. A plant is named by its
// place in a pedigree, where parents stand before their offspring; parents are the seed parent and the pollen parent, the
// same one for a self. Covariances are traits × traits, by rows, in squared units of the traits.
//
// The model is additive: many genes, no dominance, no linkage. Methods: see the source named at each function.
package genetics
