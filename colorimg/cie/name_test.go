package cie

import (
	"strings"
	"testing"

	"hueward/colorimg/must"
)

// Every centroid is nearest to itself, so none is hidden behind another.
func TestNameCentroids(t *testing.T) {
	list := centroids()
	if len(list) != 267 {
		t.Fatalf("%d names, ISCC-NBS has 267", len(list))
	}
	seen := map[string]bool{}
	for i, k := range list {
		if got := Name(k.lab); got != k.name {
			t.Errorf("Name(centroid %d, %s) = %q, want %q", i+1, k.hex, got, k.name)
		}
		if seen[k.name] || seen[k.hex] {
			t.Errorf("centroid %d: %s %q comes twice", i+1, k.hex, k.name)
		}
		seen[k.name], seen[k.hex] = true, true
		if k.name != strings.ToLower(k.name) || strings.ContainsAny(k.name, ",#0123456789") {
			t.Errorf("centroid %d: %q holds more than a name", i+1, k.name)
		}
		// Printed as it was read: the conversion and its inverse.
		if got := k.lab.Hex(); got != k.hex {
			t.Errorf("Hex(centroid %d) = %s, want %s", i+1, got, k.hex)
		}
	}
}

// Block numbers and names as NBS Special Publication 440 lists them (from
// memory): first, last and some between, so that the table is in its order.
func TestNameNumbers(t *testing.T) {
	for n, want := range map[int]string{
		1: "vivid pink", 11: "vivid red", 34: "vivid reddish orange", 48: "vivid orange", 66: "vivid orange yellow",
		82: "vivid yellow", 115: "vivid yellow green", 129: "vivid yellowish green", 139: "vivid green",
		176: "vivid blue", 205: "vivid violet", 216: "vivid purple", 254: "vivid purplish red",
		263: "white", 265: "medium gray", 267: "black",
	} {
		if got := centroids()[n-1].name; got != want {
			t.Errorf("name %d = %q, want %q", n, got, want)
		}
	}
}

// Everyday colours by names a person would accept: common practice, no source.
// TestGridTableWhite compares names with another library's nearest centroid.
func TestNameSanity(t *testing.T) {
	for _, k := range []struct{ hex, want string }{
		{"#ffffff", "white"},
		{"#000000", "black"},
		{"#808080", "medium gray"},
		{"#ffa500", "vivid orange yellow"},
		{"#ff8000", "vivid orange"},
		{"#ffd700", "vivid yellow"},
		{"#fffdd0", "pale yellow"},
		{"#800080", "vivid reddish purple"},
		{"#006400", "deep yellowish green"},
	} {
		lab := must.Have(ParseHex(k.hex))(t)
		if got := Name(lab); got != k.want {
			t.Errorf("Name(%s) = %q, want %q", k.hex, got, k.want)
		}
	}
}

func BenchmarkName(b *testing.B) {
	c := Lab{78, 18, 41}
	Name(c)
	for b.Loop() {
		Name(c)
	}
}
