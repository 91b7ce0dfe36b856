package camera

import (
	"encoding/json"
	"errors"
	"flag"
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"hueward/colorimg/must"
)

func TestJSON(t *testing.T) {
	m := learn(t, phones["strong, wide"])
	m.Learnt = time.Date(2026, 7, 14, 8, 30, 0, 0, time.UTC)
	b := must.Have(json.Marshal(m))(t)
	var back Model
	must.OK(t, json.Unmarshal(b, &back))
	if d := cmp.Diff(m, &back, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("(-put in +got back):\n%s", d)
	}
	if want := "curve and root-polynomial of degree 2 of 24 patches, 2026-07-14"; back.String() != want {
		t.Errorf("String() = %q, want %q", back.String(), want)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := models.Draw(t, "model")
		b := must.Have(json.Marshal(m))(t)
		var back Model
		err := json.Unmarshal(b, &back)
		if !curve(m.Curve).rises() {
			if err == nil {
				t.Fatal("a curve that falls is taken")
			}
			return
		}
		if d := cmp.Diff(m, &back, cmpopts.EquateEmpty()); d != "" || err != nil {
			t.Fatalf("%v (-put in +got back):\n%s", err, d)
		}
	})
}

func TestJSONDamaged(t *testing.T) {
	b := must.Have(json.Marshal(learn(t, phones["crosstalk"])))(t)
	for name, c := range map[string][2]string{
		"no version":     {`"version":1`, `"version":0`},
		"unknown kind":   {`"kind":"matrix","degree":1,"space"`, `"kind":"magic","degree":1,"space"`},
		"another degree": {`"kind":"matrix","degree":1,"space"`, `"kind":"matrix","degree":2,"space"`},
		"no space":       {`"space":"Display P3"`, `"space":""`},
		"a curve":        {`"curve":[`, `"curve":[9,`},
		"text":           {`"curve":[`, `"curve":["x",`},
		"coefficients":   {`"coefficients":[[0,`, `"coefficients":[[0.5,`},
		"too-large":      {`"coefficients":[[0,`, `"coefficients":[[0,1e9,`},
		"too many":       {`"coefficients":[[0,`, `"coefficients":[[0,0,`},
		"error":          {`"error":{"mean":`, `"error":{"mean":-`},
		"patches":        {`"patches":24`, `"patches":-24`},
		"cut short":      {`}`, ``},
		"time":           {`"cut":`, `"learnt":"yesterday","cut":`},
	} {
		text := strings.Replace(string(b), c[0], c[1], 1)
		if text == string(b) {
			t.Fatalf("%s: %q is not there to be damaged", name, c[0])
		}
		m := Model{Kind: "as before"}
		if err := json.Unmarshal([]byte(text), &m); err == nil || m.Kind != "as before" {
			t.Errorf("%s: taken, error %v, kind %s", name, err, m.Kind)
		}
	}
	err := new(Model).UnmarshalJSON([]byte(strings.Replace(string(b), `"version":1`, `"version":2`, 1)))
	if !errors.Is(err, ErrNewer) {
		t.Errorf("a newer version: %v, want ErrNewer", err)
	}
}

var update = flag.Bool("update", false, "write the models of testdata that are missing")

// keptModels are models as version 1 wrote them. Books hold such: they stay as
// they are, whatever later versions write.
var keptModels = map[string]string{
	"testdata/v1_gains.json": "plain", "testdata/v1_curve.json": "contrast",
	"testdata/v1_matrix.json": "crosstalk", "testdata/v1_root.json": "late saturation",
}

func TestKeptModels(t *testing.T) {
	for file, phone := range keptModels {
		b, err := os.ReadFile(file)
		if errors.Is(err, fs.ErrNotExist) && *update {
			if b, err = json.MarshalIndent(learn(t, phones[phone]), "", " "); err == nil {
				err = os.WriteFile(file, append(b, '\n'), 0o644)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
		var m Model
		if err := json.Unmarshal(b, &m); err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		// It does what a model does: petals come out near to what they are.
		if e := errorsOf(phones[phone], &m, petals, false); e.Median > 1 {
			t.Errorf("%s: petals' median error = %.2f, want at most 1", file, e.Median)
		}
	}
}

func FuzzJSON(f *testing.F) {
	for file := range keptModels {
		b := must.Have(os.ReadFile(file))(f)
		f.Add(b)
	}
	f.Add([]byte(`{"version":1,"kind":"gains","space":"sRGB","coefficients":[[],[],[]]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var m Model
		if m.UnmarshalJSON(b) != nil {
			return
		}
		for _, v := range [][3]float64{{0, 0, 0}, {0.2, 0.5, 0.1}, {1.4, -0.3, 1}} {
			if out := m.Apply(m.Uncurve(v)); !(math.Abs(out[0])+math.Abs(out[1])+math.Abs(out[2]) < math.Inf(1)) {
				t.Fatalf("%v becomes %v", v, out)
			}
		}
		m.Correct([]float32{0.2, 0.5, 0.1, 2, -1, 0})
		b2 := must.Have(json.Marshal(&m))(t)
		var back Model
		if err := back.UnmarshalJSON(b2); err != nil {
			t.Fatalf("written and read again: %v", err)
		}
		if d := cmp.Diff(m, back, cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("written and read again (-first +second):\n%s", d)
		}
	})
}
