package selection

import "hueward/selection/genetics"

// mostWidened is up to how many records values are widened: with more, plants' own groups are far behind them.
const mostWidened = 3000

// widened are the values of a model in which plants of mixed founder groups vary by what the groups differ in, too, the components and
// strong genes as they are; v itself where there is nothing to widen. The usual model, which v is of, draws the best of such plants too
// near to the mean.
//
// Source: Lo, Fernando, Grossman 1993, Theor. Appl. Genet. 87:423; see [genetics.Segregating].
func (v *Values) widened() *Values {
	ped := v.Ped
	if len(v.rec.Plant) <= mostWidened {
		ped = ped.Widened(v.plants)
	}
	if ped == v.Ped {
		return v
	}
	eval, err := genetics.Evaluate(ped, v.rec, &v.Components, nil)
	if err != nil { // it is of the same size and shape as the one that went well
		return v
	}
	w := &Values{Ped: ped, plants: v.plants, Fit: v.Fit, Components: v.Components, SeasonVar: v.SeasonVar, Genes: v.Genes,
		genotypeKinds: v.genotypeKinds, kindEffects: v.kindEffects, rec: v.rec, eval: eval}
	w.seeOwn(v.rec)
	w.findMoves(v.rec)
	return w
}
