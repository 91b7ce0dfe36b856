// Package find matches names with what people type with a thumb: small letters, 26-15 for
// X26-015, and mueller, müller or muller for Müller. Start with [Has].
//
// The page's script does the same while somebody types (assets/plants.js); a test in a
// browser checks both against the same table.
package find

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// spelt are the German letters that have a spelling without marks; all others lose their marks.
var spelt = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss", "æ", "ae", "ø", "oe", "å", "aa")

// unspelt takes the second letter of each such spelling away, so that ae, ä and a are one.
var unspelt = strings.NewReplacer("ae", "a", "oe", "o", "ue", "u", "aa", "a")

// Has reports whether name contains what was typed; every name contains an empty text.
func Has(name, typed string) bool {
	typed = strings.TrimSpace(typed)
	n, t := spell(name), spell(typed)
	return strings.Contains(n, t) || strings.Contains(bare(name), bare(typed)) || strings.Contains(unspelt.Replace(n), unspelt.Replace(t))
}

// spell is a name in small letters, without marks, zeros before numbers and runs of spaces.
func spell(s string) string { return bare(spelt.Replace(norm.NFC.String(strings.ToLower(s)))) }

// bare is spell with ä as a.
func bare(s string) string {
	var b strings.Builder
	digits, space := false, false
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
			continue
		case unicode.IsSpace(r):
			space = true
			continue
		case r == '0' && !digits:
			continue // before a number; a zero alone goes too, on both sides
		}
		if space && b.Len() > 0 {
			b.WriteByte(' ')
		}
		space = false
		digits = unicode.IsDigit(r)
		b.WriteRune(r)
	}
	return b.String()
}
