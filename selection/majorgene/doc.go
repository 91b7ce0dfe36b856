// Package majorgene finds a few strong genes (major genes) with dominance beside the many weak ones (polygenes)
// that selection/genetics predicts, and says which plants carry them.
//
// Start with [Fit]. [Model.Of] gives one plant's genotype chances, [Model.Cross] and [Model.Self] those of
// its offspring; [Model.Sort] sorts a family into colour classes, and TestSort has the figures of how well.
// Colours are L*, a*, b*. A genotype is a number in base 3 with one digit for each locus: the number of
// copies of its second allele.
//
// The model is the mixed one of Morton and MacLean 1974, Am. J. Hum. Genet. 26:489: a plant's
// colour is the effect of up to three unlinked loci of two alleles, plus a normal part from polygenes,
// weather and reading. A locus is dominant, or its heterozygote has a colour of its own; the second
// homozygote of one locus may hide another (recessive epistasis). A family, all offspring of two plants in one
// season, has a common mean: normal around the mean of its parents' polygenic values, and shifted by weather.
// Means are worked out from the oldest plants down, and each family updates its parents' values for the next. Genotype
// chances follow by peeling (peel.go). The effects, the covariance of the normal part and each founder group's allele
// frequencies follow by expectation
// maximisation (em.go): a plant's genotypes are weighed by its distance from its family's mean, as estimated from
// the others of the family. The log likelihood is that of expectation propagation. The search starts from effects in
// several directions of colour, and continues with the better starts.
//
// Loci are added one by one, beginning with none. One more must raise the log likelihood by
// 3.5 + 0.75 log n for each colour and 2 for the locus, and by 5 more
// where parents are not known: a penalty of the kind of Schwarz 1978, Ann. Statist. 6:461, with
// numbers chosen on simulated lines without strong genes. Lines of fewer than 20 plants are not searched.
// In a long book, only the newest seasons are searched, together with the ancestors of their plants.
//
// Uncertainty is carried on into predictions. [Model.Doubts] are the independent errors of the effects, from the observed
// information (doubt.go). Genotype chances are averaged over these, and over the scatter and the allele frequencies (average.go).
// [Model.Second] is the likeliest model with another number of loci, none included, with its chance, so that predictions can be
// averaged over both. The error of the likelihoods themselves makes that chance less extreme (fit.go).
//
// In simulated programmes of 60 plants a season that keep six (TestStrongProgrammes of selection, 65 runs each,
// heritability 0.45), the seasons to the target, relative to keeping the nearest plants, were as follows;
// they began with two founder groups, or with an F2 of these: a dominant gene 0.64 and 0.78 (1145 and 483 runs, standard errors 0.01
// and 0.02), a recessive one 0.75 and 0.73, a pathway of two 0.53 and 0.68 (standard errors 0.03 to 0.04); for a second simulator
// see TestLinkedProgrammes. Of the lines of TestRecovery (seeds from 910000 on) a gene was falsely found in 3 of 8276 of 500 plants and
// in 11 of 8534 of 300 without one; the true one was found in 2277 of 2288 lines of 160 plants with a dominant gene, and two or more in
// 946 of 968 with a pathway. Before each family updated its parents' values, it was falsely found in 6 of 100 lines of 500 plants, in
// 26 of 1200 books of 24 to 500 by two simulators (TestNoFalseGene), and in 23 of 800 books of 24.
//
// Given effects, scatter and frequencies, chances are exact: by peeling where the pedigree has no loops, else by elimination
// (eliminate.go). Where so many related plants are crossed that its tables would grow too large, the least likely genotypes are left
// out; where that is not enough, as in some lines of 500 plants with two loci, peeling is iterated, and [Model.Exact] is false:
// where both could be tried, the chances differed by up to 0.09. A gene whose classes overlap (less than about 2.5 standard
// deviations apart) is not found, and one without dominance need not be: it is additive. Linkage, more than two alleles,
// dominant epistasis and complementary genes are outside the model; the nearest model within it is fitted instead.
package majorgene
