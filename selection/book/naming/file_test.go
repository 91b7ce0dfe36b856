package naming

import (
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSafeName(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.StringMatching(`[./\\a-c: ]{0,8}(\.jpg)?`)).Draw(t, "name")
		got := SafeName(name)
		if got == "" || strings.ContainsAny(got, "/\\\x00:") || strings.HasPrefix(got, ".") || strings.HasSuffix(got, ".") ||
			strings.HasSuffix(got, " ") || len(got) > 125 {
			t.Fatalf("SafeName(%q) = %q", name, got)
		}
		if filepath.Base(got) != got || !filepath.IsLocal(got) {
			t.Fatalf("SafeName(%q) = %q leaves its folder", name, got)
		}
	})
}
