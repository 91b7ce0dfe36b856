package majorgene

import (
	"bytes"
	"encoding/gob"
	"math/rand/v2"
	"reflect"
	"testing"

	"hueward/colorimg/must"
)

// A model is kept between two runs of the program, as gob writes it: nothing of it may be lost there. Property, no source.
func TestModelIsKeptWhole(t *testing.T) {
	t.Parallel()
	m := Fit(grow(rand.New(rand.NewPCG(1, 5)), schemes[0], dominant).records, nil)
	if m.Loci == 0 {
		t.Fatal("no gene was found in the made-up line")
	}
	for of := range reflect.TypeFor[Model]().Fields() {
		if !of.IsExported() {
			t.Errorf("%s is not kept", of.Name)
		}
	}
	var b bytes.Buffer
	must.OK(t, gob.NewEncoder(&b).Encode(m))
	var back Model
	must.OK(t, gob.NewDecoder(&b).Decode(&back))
	if !reflect.DeepEqual(*m, back) {
		t.Errorf("%+v came back as %+v", *m, back)
	}
}
