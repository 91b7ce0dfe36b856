package selection

import "hueward/selection/genetics"

// mostWidened is up to how many records values ahead are worked out: with more, plants' own groups are far behind them.
const mostWidened = 1000

// ahead are the values that what is to come is worked out from, once; plants are ranked by v, the usual model's. Plants of mixed founder
// groups vary by what the groups differ in, too, or the best of them would be taken to be too near to the mean. And what is not known
// of strong genes, which the components hold beside the additive variance (addGeneVar), is shared between both: relatives' genes are
// mistaken together, so that what is taken off them is alike, and of 160 made-up lines whose genes' effects were given the additive
// variance was too small by 0.06 to 0.14 of it, the rest too large. It is v itself where that changes nothing.
//
// Source: Lo, Fernando, Grossman 1993, Theor. Appl. Genet. 87:423; see [genetics.Segregating].
func (v *Values) ahead() *Values {
	v.laterOnce.Do(func() {
		if v.later = v; v.Fit == nil || len(v.rec.Plant) > mostWidened {
			return
		}
		ped := v.Ped.Widened(v.plants)
		if ped == v.Ped && v.Genes == nil {
			return
		}
		fit := *v.Fit
		fit.Components = fit.Components.Share(flat(v.geneVar))
		w := &Values{Ped: ped, plants: v.plants, Fit: &fit, Components: fit.Components, Genes: v.Genes, genotypeKinds: v.genotypeKinds,
			kindEffects: v.kindEffects, scaleCV: v.scaleCV}
		var err error
		if w.eval, err = genetics.Evaluate(ped, v.rec, &w.Components, nil); err != nil {
			return
		}
		w.findAxes()
		w.seeOwn(v.rec)
		w.findMoves(v.rec)
		v.later = w
	})
	return v.later
}
