package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"hueward/colorimg/cie"
	"hueward/report/words"
)

// px is a length in a drawing, written with one decimal.
type px float64

func (p px) String() string {
	s := strconv.FormatFloat(float64(p), 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// number writes v for reading: given decimals, a true minus sign, and a dash when it is not known.
func number(v float64, decimals int) string {
	if !finite(v) {
		return "–"
	}
	return strings.Replace(words.Fixed(v, decimals), "-", "−", 1)
}

// labText writes a colour as its three numbers.
func labText(c cie.Lab) string {
	return number(c.L, 1) + ", " + number(c.A, 1) + ", " + number(c.B, 1)
}

// chance writes a probability as a percentage that never claims certainty.
func chance(p float64) string {
	if !finite(p) {
		return ""
	}
	return joined(strings.NewReplacer("> ", "over ", "< ", "under ").Replace(words.Chance(p)))
}

// percent writes a share of 1.
func percent(v float64) string { return joined(number(100*v, 0) + " %") }

// joined keeps numbers and what belongs to them on one line.
func joined(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// interval writes low to high, or nothing when neither is known.
func interval(low, high float64) string {
	if low == 0 && high == 0 || math.IsNaN(low) || math.IsNaN(high) {
		return ""
	}
	return number(low, 1) + " to " + number(high, 1)
}

// baseName is a file's name without its folders, of either kind of separator:
// a folder's name may tell where somebody lives.
func baseName(file string) string {
	if i := strings.LastIndexAny(file, `/\`); i >= 0 {
		return file[i+1:]
	}
	return file
}

var hexForm = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// ink returns a colour that is safe to paint with; anything but "#rrggbb" is shown as no colour.
func ink(hex string) string {
	if hexForm.MatchString(hex) {
		return hex
	}
	return "none"
}
