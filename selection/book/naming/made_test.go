package naming

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A wrong digit and two swapped neighbours are always told.
func TestCheckLetter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"", "X", "P", "S"}).Draw(t, "kind") + fmt.Sprintf("%02d-%03d", rapid.IntRange(0, 99).Draw(t,
			"season"), rapid.IntRange(0, 99999).Draw(t, "n"))
		letter := CheckLetter(name)
		if !strings.ContainsRune(checkLetters, rune(letter)) {
			t.Fatalf("letter %q", letter)
		}
		for i := range name {
			if name[i] < '0' || name[i] > '9' {
				continue
			}
			for d := byte('0'); d <= '9'; d++ {
				if other := name[:i] + string(d) + name[i+1:]; d != name[i] && CheckLetter(other) == letter {
					t.Fatalf("%s and %s both have %c", name, other, letter)
				}
			}
			if i+1 < len(name) && name[i+1] >= '0' && name[i+1] <= '9' && name[i+1] != name[i] {
				if other := name[:i] + string(name[i+1]) + string(name[i]) + name[i+2:]; CheckLetter(other) == letter {
					t.Fatalf("%s and %s both have %c", name, other, letter)
				}
			}
		}
	})
}
