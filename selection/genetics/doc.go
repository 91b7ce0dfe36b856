// Package genetics works on pedigrees. [Generations] names each plant's
// generation, F1, S1, BC1 and so on, by who its parents are.
//
// It knows nothing of the book or of colours, and does no I/O.
package genetics
