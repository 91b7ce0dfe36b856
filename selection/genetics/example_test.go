package genetics_test

import (
	"fmt"

	"hueward/selection/genetics"
)

// Inbreeding of the offspring of two full sibs.
func ExampleNewPedigree() {
	pedigree, err := genetics.NewPedigree([]genetics.Parents{
		{ID: "X", Seed: "A", Pollen: "B"}, {ID: "Y", Seed: "B", Pollen: "A"}, {ID: "Z", Seed: "X", Pollen: "Y"},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	x, _ := pedigree.Place("X")
	y, _ := pedigree.Place("Y")
	z, _ := pedigree.Place("Z")
	fmt.Println(pedigree.FullSibs(x, y), pedigree.Coancestry(x, y), pedigree.Inbreeding(z))
	// Output: true 0.25 0.25
}

func ExampleGenerations() {
	names := genetics.Generations([]genetics.Parents{
		{ID: "A"}, {ID: "B"}, {ID: "C", Seed: "A", Pollen: "B"}, {ID: "D", Seed: "C", Pollen: "C"}, {ID: "E", Seed: "C", Pollen: "A"},
	})
	fmt.Println(names["A"], names["C"], names["D"], names["E"])
	// Output: founder F1 F2 BC1
}
