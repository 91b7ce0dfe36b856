package heif

import (
	"fmt"
	"strings"
	"testing"
)

// golomb is the unsigned Exp-Golomb code of n in binary digits.
//
// Source: ITU-T H.265 section 9.2; from memory.
func golomb(n int) string {
	digits := fmt.Sprintf("%b", n+1)
	return strings.Repeat("0", len(digits)-1) + digits
}

// TestReadSPSScalingLists: what follows the scaling lists is read rightly
// whether they are not used, are the standard's own, or stand in the set.
//
// Source: ITU-T H.265 sections 7.3.2.2, 7.3.4 and E.2.1; from memory.
func TestReadSPSScalingLists(t *testing.T) {
	var lists strings.Builder
	for size := range 4 {
		for matrix := range 6 {
			switch {
			case size == 3 && matrix%3 != 0: // only two of the largest
			case matrix == 1:
				lists.WriteString("0" + golomb(1)) // as the one before
			default:
				lists.WriteString("1")
				n := min(64, 16<<(2*size))
				if size > 1 {
					n++ // the mean first
				}
				lists.WriteString(strings.Repeat(golomb(3), n))
			}
		}
	}
	for name, scaling := range map[string]string{"not used": "0", "the standard's": "10", "its own": "11" + lists.String()} {
		set := "0100001000000001" + "0000" + "000" + "1" + // parameter set, one layer
			strings.Repeat("0", 96) + // profile, tier, level
			golomb(0) + golomb(1) + // number, 4:2:0
			golomb(4032) + golomb(3024) + "0" +
			golomb(2) + golomb(2) + golomb(4) + // 10 bits, picture order
			"1" + golomb(1) + golomb(0) + golomb(0) +
			strings.Repeat(golomb(1), 6) + // blocks
			scaling +
			"11" + "0" + golomb(0) + "0" + "11" + // no PCM, no reference sets
			"1" + "0" + "0" + "1" + "101" + "1" + "1" + // usability: full range and colours
			fmt.Sprintf("%08b%08b%08b", 12, 13, 6) + strings.Repeat("0", 32)
		b := make([]byte, (len(set)+7)/8)
		for i, d := range set {
			if d == '1' {
				b[i/8] |= 0x80 >> (i % 8)
			}
		}
		got, ok := readSPS(b)
		want := coded{width: 4032, height: 3024, chroma: 1, bits: 10, full: true, codes: CodePoints{Primaries: 12, Transfer: 13, Matrix: 6}}
		if !ok || got != want {
			t.Errorf("scaling lists %s: readSPS = %+v, %v, want %+v", name, got, ok, want)
		}
	}
}
