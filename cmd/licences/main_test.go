package main

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
)

// TestLicences: what a built hueward prints is what its modules say now.
func TestLicences(t *testing.T) {
	t.Parallel()
	want := must.Have(licences("../.."))(t)
	got := must.Have(os.ReadFile("../hueward/licences.txt"))(t)
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(string(got), "\n")); diff != "" {
		t.Errorf("cmd/hueward/licences.txt is out of date; run go generate ./cmd/hueward (-as it would be, +as it is):\n%.2000s", diff)
	}
	for _, part := range []string{"libheif 1.18.2: LICENSE", "libde265 1.0.15: LICENSE", "GNU LESSER GENERAL PUBLIC LICENSE",
		"github.com/tetratelabs/wazero", "modernc.org/sqlite", "Bigelow & Holmes", "HUEWARD_HEIF_WASM"} {
		if !strings.Contains(string(got), part) {
			t.Errorf("cmd/hueward/licences.txt does not have %q", part)
		}
	}
}
