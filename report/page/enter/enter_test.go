package enter

import (
	"slices"
	"testing"

	"hueward/selection/calendar"
)

// The form of a crop has a field for each of its values, once: none that is added to crops is
// missing from the page.
func TestCropGroups(t *testing.T) {
	t.Parallel()
	var have []string
	for _, g := range cropGroups {
		for _, f := range g.fields {
			have = append(have, f[0])
		}
	}
	want := calendar.FieldNames()
	slices.Sort(have)
	slices.Sort(want)
	if !slices.Equal(have, want) {
		t.Errorf("the page has fields for %q, want %q", have, want)
	}
}
