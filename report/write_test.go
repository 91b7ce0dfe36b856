package report

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write golden files anew")
var keep = flag.String("keep", "", "folder to keep the invented reports in, to look at")

func htmlOf(t *testing.T, s *Season) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A season of 24 plants with three photos each is a file that can be sent by
// mail: at most 4 MB.
func TestWriteWeight(t *testing.T) {
	got := htmlOf(t, garden(24, 3))
	if len(got) > 4<<20 {
		t.Errorf("report of 24 plants × 3 photos = %d bytes, want at most %d", len(got), 4<<20)
	}
	if *keep != "" {
		if err := os.WriteFile(filepath.Join(*keep, "garden.html"), []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}
