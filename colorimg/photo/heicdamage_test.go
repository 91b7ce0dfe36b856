package photo

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"
)

// TestHEICDamaged: a file cut anywhere, or with its sizes made wrong, is refused
// with one line of the right kind, and nothing large is set aside for it.
func TestHEICDamaged(t *testing.T) {
	sound := readTestFile(t, "marigold.heic")
	for n := 12; n < len(sound); n += 41 {
		_, err := openBytes(context.Background(), "cut.heic", sound[:n], (*Options)(nil).withDefaults())
		if k := kind(err); k != "broken" && k != "unsupported" {
			t.Errorf("cut to %d of %d bytes: %v (%s), want a refusal", n, len(sound), err, k)
		}
	}
	with := func(find string, skip int, v string) []byte {
		b := bytes.Clone(sound)
		at := bytes.Index(b, []byte(find))
		if at < 0 {
			t.Fatalf("no %q in the fixture", find)
		}
		copy(b[at+len(find)+skip:], v)
		return b
	}
	loop := bytes.Clone(readTestFile(t, "odd.heic"))
	at := bytes.Index(loop, []byte("dimg\x00\x02\x00\x01\x00\x01"))
	if at < 0 {
		t.Fatal("no grid in the fixture")
	}
	loop[at+9] = 2 // the grid is made of itself
	short := bytes.Clone(readTestFile(t, "odd.heic"))
	at = bytes.Index(short, []byte("idat"))
	short[at+7] = 1 // one more column than there are tiles
	for _, c := range []struct {
		name, kind string
		b          []byte
	}{
		{"too few tiles", "broken", short},
		{"huge", "too-large", with("ispe", 4, "\x00\x00\xea\x60\x00\x00\xea\x60")},
		{"endless", "broken", with("ispe", 4, "\xff\xff\xff\xff")},
		{"no size", "broken", with("ispe", 4, "\x00\x00\x00\x00")},
		{"larger than coded", "broken", with("ispe", 4, "\x00\x00\x01\x00")},
		{"no main picture", "broken", with("pitm", 4, "\x00\x09")},
		{"another codec", "unsupported", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "avc1")},
		{"av1", "unsupported", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "av01")},
		{"a grid without tiles", "broken", with("infe\x02\x00\x00\x00\x00\x01\x00\x00", 0, "grid")},
		{"its own tile", "broken", loop},
		{"box of 3 bytes", "broken", with("iprp", -8, "\x00\x00\x00\x03")},
		{"no picture", "unsupported", with("hdlr", 8, "soun")},
		{"no meta", "unsupported", with("meta", -4, "free")},
		{"chroma of no kind", "broken", with("hvcC", 22+5+4, "\xff\xff\xff\xff\xff\xff")},
	} {
		start := time.Now()
		_, err := openBytes(context.Background(), c.name, c.b, (*Options)(nil).withDefaults())
		if kind(err) != c.kind {
			t.Errorf("%s: %v (%s), want %s", c.name, err, kind(err), c.kind)
			continue
		}
		if s := err.Error(); strings.ContainsAny(s, "\n\r") || !strings.Contains(s, "; ") {
			t.Errorf("%s: not one line of reason and hint: %q", c.name, s)
		}
		t.Logf("%s: %v (%v)", c.name, err, time.Since(start).Round(time.Millisecond))
	}
}

func BenchmarkHEIC(b *testing.B) {
	data := readTestFile(b, "marigold.heic")
	decodeHEIC(b, data)
	for b.Loop() {
		decodeHEIC(b, data)
	}
}
