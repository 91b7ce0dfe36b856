package selection

import (
	"fmt"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Two plants on opposite sides of the target promise the same offspring as two that lie on it, if all adds up. Few genes may make
// what they differ by, and so the alike are crossed; but founder groups differ by many genes, which speaks against no cross.
func TestAlikeFirst(t *testing.T) {
	t.Parallel()
	doubts := func(groups string) (opposite, alike float64) {
		var plants []genetics.Parents
		var records []Record
		for i := range 20 { // a's around one side of the target, b's around the other
			side := space.Vector{0, 6 * float64(1-2*(i%2)), 0.2 * float64(i/2)}
			if i >= 16 {
				side = space.Vector{0, 0, side[1] / 10}
			}
			p := genetics.Parents{ID: fmt.Sprintf("P%02d", i), Group: string(groups[i%2])}
			plants = append(plants, p)
			records = append(records, Record{Plant: p.ID, Season: "1", Lab: space.Lab(space.Plus(space.Of(buff.Lab), side))})
		}
		v, err := Predict(plants, records, &ValueOptions{Components: &genetics.Components{
			Additive: flat(space.Diag(space.Even(20))), Residual: flat(space.Diag(space.Even(5)))}})
		if err != nil {
			t.Fatal(err)
		}
		r, err := Crosses(v, buff, &PairOptions{Candidates: []string{"P00", "P01", "P16", "P17"}})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range r.all {
			switch c.Places {
			case [2]int{0, 1}:
				opposite = c.Cost
			case [2]int{2, 3}:
				alike = c.Cost
			}
		}
		return opposite, alike
	}
	opposite, alike := doubts("AA")
	if !(opposite > 0.1 && alike < 0.05) {
		t.Errorf("the cross of opposites costs %.3f, of the alike %.3f", opposite, alike)
	}
	if of, _ := doubts("AB"); !(of < 0.2*opposite) {
		t.Errorf("the cross of opposites of two groups costs %.3f, of one group %.3f", of, opposite)
	}
}
