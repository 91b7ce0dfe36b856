package selection_test

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/genetics"
)

// Three plants, two of them measured twice, ranked by their distance to a shade.
func ExampleRank() {
	target := selection.Target{Lab: cie.Lab{L: 76, A: 16, B: 34}, Within: 3}
	ranking, err := selection.Rank(target, []selection.Observation{
		{Plant: "M-1", Photo: "1.jpg", Lab: cie.Lab{L: 75, A: 17, B: 36}},
		{Plant: "M-1", Photo: "2.jpg", Lab: cie.Lab{L: 76, A: 17, B: 35}},
		{Plant: "M-2", Photo: "3.jpg", Lab: cie.Lab{L: 84, A: 8, B: 25}},
		{Plant: "M-2", Photo: "4.jpg", Lab: cie.Lab{L: 83, A: 9, B: 25}},
		{Plant: "M-3", Photo: "5.jpg", Lab: cie.Lab{L: 66, A: 25, B: 45}},
	}, &selection.Options{Keep: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range ranking.Plants {
		fmt.Printf("%d %s %.1f %s: %s\n", p.Rank, p.ID, p.DeltaE, p.Advice.Word(), p.Why)
	}
	// Output:
	// 1 M-1 0.8 keep: within the tolerance, nearest of 3
	// 2 M-2 7.5 reserve: 2nd of 3, next after the 1 kept
	// 3 M-3 9.2 drop: 3rd of 3
}

// What crosses of two plants on either side of a shade promise, by what they pass on.
func ExamplePairs() {
	plants := []genetics.Parents{{ID: "A"}, {ID: "B"}, {ID: "C"}}
	records := []selection.Record{
		{Plant: "A", Season: "2026", Lab: cie.Lab{L: 82, A: 8, B: 26}},
		{Plant: "B", Season: "2026", Lab: cie.Lab{L: 70, A: 24, B: 42}},
		{Plant: "C", Season: "2026", Lab: cie.Lab{L: 84, A: 6, B: 24}},
	}
	values, err := selection.Predict(plants, records, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	target := selection.Target{Lab: cie.Lab{L: 76, A: 16, B: 34}, Within: 3}
	pairing, err := selection.Pairs(values, target, &selection.PairOptions{Candidates: []string{"A", "B", "C"}, Top: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	best := pairing.Pairs[0]
	fmt.Printf("%s × %s, %s\n", best.SeedParent, best.PollenParent, best.Kind)
	// Output: A × B, cross
}
