package selection

import "hueward/selection/genetics"

// mostWidened is up to how many records values are widened: with more, plants' own groups are far behind them.
const mostWidened = 1000

// ahead are the values that what is to come is worked out from, beside those that plants are ranked by, which are the usual model's.
// Plants of mixed founder groups vary by what the groups differ in, too, or the best of them would be taken to be too near to the
// mean. And what is not known of strong genes, which the components hold beside the additive variance (addGeneVar), is shared between
// both: relatives' genes are mistaken together, so that what is taken off them is alike, and of 160 made-up lines whose genes' effects
// were given the additive variance was too small by 0.06 to 0.14 of it, the rest too large. It is v itself where that changes nothing.
//
// Source: Lo, Fernando, Grossman 1993, Theor. Appl. Genet. 87:423; see [genetics.Segregating].
func (v *Values) ahead() *Values {
	ped := v.Ped
	if len(v.rec.Plant) <= mostWidened {
		ped = ped.Widened(v.plants)
	}
	if ped == v.Ped && v.Genes == nil || v.Fit == nil {
		return v
	}
	w := &Values{Ped: ped, plants: v.plants, Genes: v.Genes, genotypeKinds: v.genotypeKinds, kindEffects: v.kindEffects, geneVar: v.geneVar}
	fit := *v.Fit
	if w.Fit = &fit; ped != v.Ped {
		f, err := genetics.FitComponents(ped, v.rec, &genetics.FitOptions{Prior: v.prior, PriorWeight: priorPlants, Start: &v.Components,
			Group: v.Components.Group, Plant: v.prior.Plant != nil})
		if err != nil {
			return v
		}
		w.addGeneVar(&f.Components)
		w.Fit = f
	}
	w.Fit.Components = w.Fit.Components.Share(flat(v.geneVar))
	w.Components, w.scaleCV = w.Fit.Components, w.Fit.AdditiveCV()
	var err error
	if w.eval, err = genetics.Evaluate(ped, v.rec, &w.Components, nil); err != nil {
		return v
	}
	w.seeOwn(v.rec)
	w.findMoves(v.rec)
	return w
}
