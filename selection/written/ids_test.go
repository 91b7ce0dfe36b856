package written

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestSortKey holds that keys compare as the ids do.
func TestSortKey(t *testing.T) {
	t.Parallel()
	id := rapid.StringMatching(`[A-Za-zéЖ0-9._-]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		x, y := id.Draw(t, "x"), id.Draw(t, "y")
		if got, want := strings.Compare(SortKey(x), SortKey(y)), CompareIDs(x, y); got != want {
			t.Fatalf("%q and %q: keys compare as %d, ids as %d", x, y, got, want)
		}
	})
}
