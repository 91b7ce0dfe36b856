package selection

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The keys that other programs rely on; source: the project's design page.
func TestRankJSONKeys(t *testing.T) {
	t.Parallel()
	obs, _ := season(rand.New(rand.NewPCG(1, 1)), 3, 1, 8, 1)
	obs = append(obs, Observation{Plant: "M-9", Refused: true, Reason: "no flower found"})
	text, err := json.Marshal(mustRank(t, obs, nil).JSON("marigold", "2026"))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Line, Season string
		Target       map[string]any
		Plants       []map[string]any
		Unmeasured   []map[string]any
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if got.Line != "marigold" || got.Season != "2026" || len(got.Plants) != 3 || len(got.Unmeasured) != 1 {
		t.Errorf("rank JSON %s, want line, season, 3 plants and 1 unmeasured", text)
	}
	for _, k := range []string{"lab", "within"} {
		if _, ok := got.Target[k]; !ok {
			t.Errorf("target has no key %q", k)
		}
	}
	want := []string{"plant", "rank", "lab", "delta_e", "delta_e_low", "delta_e_high", "direction", "photos",
		"value_lab", "value_delta_e", "reliability", "advice", "carries", "chance_kept", "inbreeding", "why",
		"value_delta_e_low", "value_delta_e_high", "value_direction", "bonus", "sorted_by", "crosses", "second_delta_e"}
	var keys []string
	for k := range got.Plants[0] {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	slices.Sort(want)
	if d := cmp.Diff(want, keys); d != "" {
		t.Errorf("keys of a plant (-want +got):\n%s", d)
	}
	for _, k := range []string{"value_lab", "value_delta_e", "inbreeding", "reliability"} {
		if v := got.Plants[0][k]; v != nil {
			t.Errorf("%s = %v before anything computes it, want null", k, v)
		}
	}
	if c, ok := got.Plants[0]["lab"].([]any); !ok || len(c) != 3 {
		t.Errorf("lab = %v, want three numbers", got.Plants[0]["lab"])
	}
}
