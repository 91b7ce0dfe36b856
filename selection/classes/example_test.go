package classes_test

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
)

// Mendel's round and wrinkled seeds against three to one.
func ExampleTest() {
	result, err := classes.Test([]int{5474, 1850}, classes.Ratio{3, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("chi-square %.2f, p %.2f\n", result.Square, result.P)
	// Output: chi-square 0.26, p 0.61
}

func ExampleFind() {
	var colors []cie.Lab
	for i := range 12 {
		colors = append(colors, cie.Lab{L: 85 + float64(i%3), A: 4, B: 25})
	}
	for i := range 4 {
		colors = append(colors, cie.Lab{L: 60 + float64(i%3), A: 34, B: 62})
	}
	found, err := classes.Find(colors, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range found.Classes {
		fmt.Printf("%d plants around L* %.0f\n", len(c.Members), c.Mean.L)
	}
	// Output:
	// 12 plants around L* 86
	// 4 plants around L* 61
}

// How many seeds give a chance of 95 % of one plant that is expected in one of sixteen.
func ExampleToGrow() {
	fmt.Println(classes.ToGrow(1.0/16, 0.95, 1, 1))
	// Output: 47
}
