package naming

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Characters that nobody sees make two names look alike, or turn the text around: no name
// of anything takes them. Accents and scripts that need marks stay what they are.
//
// Source of the characters: Unicode Standard, 5.21, and UAX 9 for those that turn text.
func TestUnseen(t *testing.T) {
	t.Parallel()
	for _, r := range []rune{0x200b, 0x200d, 0x2060, 0xfeff, 0x202e, 0x2066, 0x061c, 0x00ad, 0x034f, 0x115f, 0x3164, 0xffa0, 0x17b4, 0x180b,
		0xfe0f, 0xe0100, 0xe0041, 0x2028, 0x85, 7, 0x2800} {
		for _, s := range []string{"M" + string(r) + "1", "M1" + string(r) + "x"} {
			for i, clean := range []func(string) (string, error){CleanID, CleanLine, CleanLabel} {
				if got, err := clean(s); err == nil || strings.ContainsRune(err.Error(), r) {
					t.Errorf("%U, function %d: %q, %v, want an error that does not hold it", r, i, got, err)
				}
			}
		}
	}
	for _, s := range []string{"Möhre-3", "นางสาว", "ספיר", "हिन्दी", "タンポポ", "Đỗ-1"} {
		if got, err := CleanID(s); err != nil || got != s {
			t.Errorf("%s: %q, %v", s, got, err)
		}
	}
	for _, s := range []string{"buff ☀\ufe0f", "a/b", "rot – weiß"} {
		if got, err := CleanLine(s); err != nil || got != s {
			t.Errorf("%s: %q, %v", s, got, err)
		}
	}
	if LineKey("buff\u200b") != "buff\u200b" || LineKey(" Mo\u0308hre ") != "m\u00f6hre" {
		t.Error("an older name is not found any more")
	}
}

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
	if _, err := CleanID(strings.Repeat("ü", 5000)); err == nil || len(err.Error()) > 400 {
		t.Errorf("a page pasted for a name: an error of %d bytes, want it shortened", len(err.Error()))
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
