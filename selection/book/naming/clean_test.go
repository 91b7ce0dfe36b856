package naming

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCleanID(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		in, want string
		ok       bool
	}{
		{" M-7 ", "M-7", true}, {"26-014.b_2", "26-014.b_2", true}, {"7", "7", true},
		{"Mo\u0308hre-3", "M\u00f6hre-3", true}, // as macOS writes it, and as all others do
		{"", "", false}, {".", "", false}, {"..", "", false}, {"../a", "", false}, {"a/b", "", false}, {`a\b`, "", false},
		{"-a", "", false}, {"a.", "", false}, {"a b", "", false}, {"a\x00", "", false}, {"\xff", "", false}, {"_x", "", false}, {"M-1..M-3",
			"", false},
		{strings.Repeat("a", 40), strings.Repeat("a", 40), true}, {strings.Repeat("a", 41), "", false},
	} {
		got, err := CleanID(c.in)
		if got != c.want || (err == nil) != c.ok {
			t.Errorf("CleanID(%q) = %q, %v, want %q", c.in, got, err, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		id, err := CleanID(rapid.String().Draw(t, "id"))
		if err != nil {
			return
		}
		if again, err := CleanID(id); err != nil || again != id {
			t.Fatalf("CleanID(%q) = %q, %v, the second time", id, again, err)
		}
		if strings.ContainsAny(id, "/\\\x00") || strings.HasPrefix(id, ".") {
			t.Fatalf("CleanID gives %q, no safe folder name", id)
		}
	})
}
