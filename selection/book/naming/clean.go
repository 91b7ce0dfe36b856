package naming

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// maxID is how many characters a plant's id may have.
const maxID = 40

// CleanID returns a plant's id or a season's name as the book keeps it
// (trimmed, in Unicode NFC), or an error that says what is allowed: letters,
// digits, and - _ . inside, up to 40 characters. It makes a safe folder name.
func CleanID(id string) (string, error) {
	s := norm.NFC.String(strings.TrimSpace(id))
	ok := utf8.ValidString(s) && utf8.RuneCountInString(s) <= maxID
	word := false // the last character; an id begins and ends with a word character
	for i, r := range s {
		word = unicode.IsLetter(r) || unicode.IsDigit(r) || i > 0 && unicode.IsMark(r)
		if !word && (i == 0 || r != '-' && r != '_' && r != '.') {
			ok = false
		}
	}
	if ok && strings.Contains(s, "..") {
		return "", fmt.Errorf("%q is a range, and one name is wanted here", id)
	}
	if !ok || !word {
		return "", fmt.Errorf("%q is not a usable name; use letters and digits, with - _ . between them, up to %d characters", id, maxID)
	}
	return s, nil
}

// CleanLine returns the name of a line as the book keeps it.
func CleanLine(name string) (string, error) {
	s := norm.NFC.String(strings.TrimSpace(name))
	if s == "" || utf8.RuneCountInString(s) > 80 || !utf8.ValidString(s) || strings.ContainsFunc(s, unseen) {
		return "", fmt.Errorf("%q is not a usable name of a line; use up to 80 ordinary characters", name)
	}
	return s, nil
}

// unseen reports whether a name may not hold the character: what controls a terminal, or
// the way that text runs, or has no width, so that two names look alike.
func unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp)
}

// Key is what names are compared by.
func Key(name string) string { return strings.ToLower(name) }
