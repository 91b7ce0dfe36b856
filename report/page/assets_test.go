package page

import (
	"crypto/sha256"
	"encoding/base64"
	"regexp"
	"strings"
	"testing"
)

// The first page brings its styles along, which the policy allows by their hash (Content Security Policy Level 3, section
// 6.7.3.3); once they were fetched as a file, pages name that alone.
func TestStylesOfFirstVisit(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), nil)
	r, err := c.Get(c.base + "/pairs")
	check(t, err)
	_, page := read(t, r)
	sheets := regexp.MustCompile(`(?s)<style data-from="([^"]+)">(.*?)</style>`).FindAllStringSubmatch(page, -1)
	if len(sheets) != 2 || strings.Contains(page, "stylesheet") {
		t.Fatalf("the first page holds %d styles, want its own and the report's, and no file to wait for", len(sheets))
	}
	for _, s := range sheets {
		sum := sha256.Sum256([]byte(s[2]))
		want := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
		if !strings.Contains(r.Header.Get("Content-Security-Policy"), want) {
			t.Errorf("the policy does not allow the styles of %s", s[1])
		}
		if status, file := c.read(s[1]); status != 200 || file != s[2] {
			t.Errorf("%s: status %d, %d bytes, want those of the page", s[1], status, len(file))
		}
	}
	if _, page = c.read("/pairs"); strings.Contains(page, "<style") || strings.Count(page, `<link rel="stylesheet"`) != 2 {
		t.Error("a page of one who keeps the styles brings them again")
	}
}
