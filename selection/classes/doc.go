// Package classes sorts the plants of a family into colour classes, and compares
// their numbers with the ratios of single genes.
//
// Start with [Find] for the classes and [Test] for a ratio. Colours are L*, a*, b* under D65, 2 degree observer;
// variances are in squared Lab units. A class is a group of plants whose colours scatter around one mean. A ratio such
// as 9:3:4 is what one or two genes give in a family; a ratio that a test does not reject is not thereby proven.
//
// The package knows nothing of photos or pedigrees. Methods: see the source under each function.
package classes
