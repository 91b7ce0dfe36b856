// Package garden brings a line's season together from the breeding book for whoever shows it: which line and season are
// meant, what its plants measured and pass on, how they rank, which pairs promise most, whether the line moves, and
// what is due. It reads the book and decides nothing: that is done by [hueward/selection] and its calendar.
package garden
