package book

import "io"

// Assignment is one row of a table that says which plant each photo shows.
type Assignment struct {
	File  string      // as written in the table
	Plant string      // id
	Bloom *[2]float64 // a point on the bloom, pixels as displayed; nil: not given
	Card  *[4]float64 // x, y, width, height of the grey card; nil: not given
	Line  int         // of the table, counted from 1
}

// ReadAssignments reads a table with the columns file and plant.
func ReadAssignments(r io.Reader) ([]Assignment, error) { panic("not yet") }
