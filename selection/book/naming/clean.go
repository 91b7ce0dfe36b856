package naming

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"hueward/selection/written"
)

// maxID is how many characters a plant's id may have.
const maxID = 40

// CleanID returns a plant's id or a season's name as the book keeps it (trimmed, in Unicode NFC), or an error that says
// what is allowed: letters, digits, and - _ . inside, up to 40 characters. It makes a safe folder name.
func CleanID(id string) (string, error) {
	s := norm.NFC.String(strings.TrimSpace(id))
	if err := seen(s); err != nil {
		return "", err
	}
	ok := utf8.ValidString(s) && utf8.RuneCountInString(s) <= maxID
	word := false // the last character; an id begins and ends with a word character
	for i, r := range s {
		word = unicode.IsLetter(r) || unicode.IsDigit(r) || i > 0 && unicode.IsMark(r)
		if !word && (i == 0 || r != '-' && r != '_' && r != '.') {
			ok = false
		}
	}
	if ok && strings.Contains(s, "..") {
		return "", fmt.Errorf("%s is a range, and one name is wanted here", quote(id))
	}
	if !ok || !word {
		return "", fmt.Errorf("%s is not a usable name; use letters and digits, with - _ . between them, up to %d characters", quote(id), maxID)
	}
	return s, nil
}

// quote returns a name that is not usable, in quotes, and shortened as whole files are pasted for names.
func quote(name string) string {
	const most = 100
	if r := []rune(name); len(r) > most {
		return strconv.Quote(string(r[:most])) + "…"
	}
	return strconv.Quote(name)
}

// CleanLine returns the name of a line, or of a founder group, as the book keeps it.
func CleanLine(name string) (string, error) {
	s, err := CleanLabel(name)
	if err != nil {
		return "", err
	}
	if s == "" || utf8.RuneCountInString(s) > 80 {
		return "", fmt.Errorf("%s is not a usable name of a line; use up to 80 ordinary characters", quote(name))
	}
	return s, nil
}

// LineKey is what a line is found by: [Key] of its clean name, or of one that was taken before the rules were stricter.
func LineKey(name string) string {
	if clean, err := CleanLine(name); err == nil {
		return Key(clean)
	}
	return Key(strings.TrimSpace(name))
}

// CleanLabel returns what a bed, a shelf, a lot of seed or a crop is called, as the book keeps it; it may be empty.
func CleanLabel(s string) (string, error) {
	clean := norm.NFC.String(strings.TrimSpace(s))
	if err := seen(clean); err != nil {
		return "", err
	}
	if !utf8.ValidString(clean) {
		return "", fmt.Errorf("%s is not a usable name; use ordinary characters", quote(s))
	}
	return clean, nil
}

// seen is an error where a name holds a character that nobody sees: one that controls a
// terminal, or the way that text runs, or has no width, so that two names look alike.
func seen(s string) error {
	before := ' '
	for _, r := range s {
		if unseen(r) && !(r == emojiStyle && unicode.Is(unicode.So, before)) {
			shown := strings.ReplaceAll(strconv.Quote(s), string(r), fmt.Sprintf(`\u%04x`, r))
			return fmt.Errorf("%s holds a character that is not seen, %U; type the name again", shown, r)
		}
		before = r
	}
	return nil
}

// emojiStyle, behind a symbol, shows it in colour.
const emojiStyle = '\ufe0f'

// Source: Unicode Standard, 5.21 and DerivedCoreProperties.txt, Default_Ignorable_Code_Point;
// the blank pattern of Braille is a symbol, and is not seen either.
func unseen(r rune) bool {
	return unicode.IsControl(r) || r == '\u2800' ||
		unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector)
}

// Key is what names are compared by.
func Key(name string) string { return strings.ToLower(name) }

var (
	letterO   = written.Pattern(`(^|[^\pL\pN])o([0-9])`)
	zeros     = written.Pattern(`(^|[^0-9])0+([0-9])`)
	between   = written.Pattern(`([0-9])[-_. ]+([0-9])`)
	separator = written.Pattern(`[-_. ]+`)
)

// Alike is a key that names share which are easily taken for each other: it knows no
// case, no dashes but between numbers, no zeros before a number, and no letter O in their
// place, and takes letters of other scripts for those of ours that they look like. M-06, m06, M-6, M.6 and M-O6 are alike;
// M-16 and M-1-6 are not.
func Alike(name string) string {
	for i := range len(name) {
		if name[i] >= utf8.RuneSelf {
			name = lookAlikes.Replace(strings.ToUpper(norm.NFKC.String(name)))
			break
		}
	}
	s := letterO().ReplaceAllString(strings.ToLower(name), "${1}0$2")
	s = zeros().ReplaceAllString(s, "$1$2")
	s = between().ReplaceAllString(s, "$1\x00$2")
	s = between().ReplaceAllString(s, "$1\x00$2") // 1-2-3: the matches overlap
	return strings.ReplaceAll(separator().ReplaceAllString(s, ""), "\x00", "-")
}

// lookAlikes are Cyrillic and Greek capitals that look like Latin ones.
//
// Source: Unicode Technical Standard 39, confusables.txt; from memory.
var lookAlikes = strings.NewReplacer(
	"А", "A", "В", "B", "Е", "E", "К", "K", "М", "M", "Н", "H", "О", "O", "Р", "P", "С", "C", "Т", "T", "У", "Y", "Х", "X", "І", "I",
	"Ј", "J", "Ѕ", "S",
	"Α", "A", "Β", "B", "Ε", "E", "Ζ", "Z", "Η", "H", "Ι", "I", "Κ", "K", "Μ", "M", "Ν", "N", "Ο", "O", "Ρ", "P", "Τ", "T", "Υ", "Y",
	"Χ", "X")
