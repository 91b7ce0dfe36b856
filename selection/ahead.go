package selection

import "hueward/selection/genetics"

// mostWidened is the largest number of records with which [Values.ahead] differs from v: in larger books the founders are far back.
const mostWidened = 1000

// ahead returns the values from which offspring and plans are predicted, worked out once; plants are ranked by v itself. They differ in
// two ways. Plants of mixed founder groups also vary by what the groups differ in; without that, the best of them are predicted too
// near the mean. And addGeneVar adds the uncertainty of strong genes to the non-additive components, though errors in relatives'
// genotypes are alike: here it is shared with the additive variance, which was otherwise 6 to 14 % too small in 160 simulated
// lines whose genes' effects were given. Where neither changes anything, ahead returns v.
//
// Source: Lo, Fernando, Grossman 1993, Theor. Appl. Genet. 87:423; see [genetics.Segregating].
func (v *Values) ahead() *Values {
	v.aheadOnce.Do(func() {
		if v.aheadValues = v; v.Fit == nil || len(v.rec.Plant) > mostWidened {
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
		w.findOwnGain(v.rec)
		w.findMoves(v.rec)
		v.aheadValues = w
	})
	return v.aheadValues
}
