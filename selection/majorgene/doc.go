// Package majorgene finds a few strong genes with dominance beside the many weak ones that
// selection/genetics predicts, and says which plants carry them.
//
// Start with [Fit]; [Model.Of] is what is known of one plant, [Model.Cross] and [Model.Self] what
// its offspring will be, and [Model.Sort] parts a family into classes, of which TestSort has the figures.
// Colours are L*, a*, b*; a genotype is a number in base 3, of each locus
// how many copies of the second allele there are.
//
// The model is the mixed one of Morton and MacLean 1974, Am. J. Hum. Genet. 26:489: a plant's
// colour is what up to three unlinked loci of two alleles make, and what many genes, weather
// and reading add, which is normal. A locus is dominant, or its heterozygote has a colour of its
// own; the second homozygote of one may hide another. Families (all offspring of two plants in a
// season) differ by what their parents' many genes tell, and by weather: a normal mean of each,
// worked out from the oldest plants down, which the plants of the family share; each family updates its parents' values for
// the next. Genotypes are peeled (peel.go); effects, the covariance of the rest and each founder group's allele
// frequencies follow by expectation maximisation (em.go): a plant's genotypes are weighed around its family's mean as the
// others of the family tell it, and the logarithm of the likelihood is what expectation propagation makes of it. The
// search begins with effects in several directions of colour; the better starts go on.
//
// The number of loci is chosen one by one, none being the default: one more must raise the
// logarithm of the likelihood by 3.5 + 0.75 log n for each colour and 2 for the locus, and by 5 more
// where parents are not known: a penalty of the kind of Schwarz 1978, Ann. Statist. 6:461, with
// numbers that were set on simulated lines without strong genes. Fewer than 20 plants are not
// looked at. A first search of long books is made in their newest seasons, with the ancestors of these.
//
// What is not known goes on into what is predicted: [Model.Doubts] are the directions in which the effects err, by the observed
// information (doubt.go); chances are averaged over them, over the scatter and the frequencies (average.go); and [Model.Second]
// is the likeliest model of another number of loci, none included, with its chance, by which predictions are averaged. The
// likelihoods' own error makes that chance less extreme (fit.go).
//
// In programmes of 60 plants a season that keep six (TestStrongProgrammes of selection, 65 runs each,
// heritability 0.45), the seasons to the target are these shares of keeping the nearest plants,
// begun with two groups and with an F2 of them: a dominant gene 0.64 and 0.79, a recessive one 0.75 and 0.73, a pathway of two
// 0.53 and 0.68, standard errors 0.03 to 0.04; of a second simulator see TestLinkedProgrammes. Of 1200 books of two simulators
// that selection looked at (TestNoFalseGene), of 24 to 500 plants without strong genes, 26 were given one; of 800 of 24 plants 23.
// Of 30 lines of 960 plants that were moved by selection none was.
//
// With effects, scatter and frequencies known chances are exact: by peeling without loops, else by elimination (eliminate.go).
// Where so many related plants are crossed that its tables would grow too large, genotypes that are next to impossible are left
// out first; where that does not do, as in some lines of 500 plants with two loci, peeling is repeated, and [Model.Exact] says
// so: where both could be tried they lay up to 0.09 apart. A gene whose classes overlap (about 2.5 standard deviations and less)
// is not found, and one without dominance need not be: it adds up. Linkage, more alleles than two, dominant epistasis, and genes
// that need each other are outside the model; the nearest one in it is taken.
package majorgene
