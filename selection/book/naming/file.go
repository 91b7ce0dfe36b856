package naming

import (
	"fmt"
	"io/fs"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// SafeName returns a file name that every system can hold and that stays in its folder: no separators, control or
// reserved characters, no leading or trailing full stop or space, at most 120 bytes. The extension is kept.
func SafeName(name string) string {
	name = strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError, unicode.IsControl(r), strings.ContainsRune(`/\<>:"|?*`, r):
			return '_'
		}
		return r
	}, norm.NFC.String(strings.ToValidUTF8(name, "_")))
	name = strings.Trim(name, ". ")
	ext := path.Ext(name)
	if len(ext) > 12 {
		ext = ""
	}
	stem := strings.TrimRight(strings.TrimSuffix(name, ext), ". ")
	for len(stem)+len(ext) > 120 {
		_, n := utf8.DecodeLastRuneInString(stem)
		stem = stem[:len(stem)-n]
	}
	if stem == "" {
		stem = "photo"
	}
	return NotReserved(stem) + ext
}

// NotReserved returns name, changed if Windows reserves it for a device.
func NotReserved(name string) string {
	head, _, _ := strings.Cut(strings.ToUpper(name), ".")
	switch head {
	case "CON", "PRN", "AUX", "NUL":
		return name + "_"
	}
	if len(head) == 4 && (strings.HasPrefix(head, "COM") || strings.HasPrefix(head, "LPT")) && head[3] >= '0' && head[3] <= '9' {
		return name + "_"
	}
	return name
}

// CheckPath returns a photo's path in the book, with forward slashes, or an error
// where it does not stay in the book's folder of photos, on every system.
func CheckPath(s string) (string, error) {
	bad := fmt.Errorf("%.80q is not a place for a photo; want one such as photos/2026/M-07/IMG_0412.jpg", s)
	parts := strings.Split(s, "/")
	if len(parts) < 2 || parts[0] != PhotosFolder || !fs.ValidPath(s) {
		return "", bad
	}
	for _, p := range parts {
		if p[0] == '.' || strings.ContainsAny(p, `\<>:"|?*`) || strings.ContainsFunc(p, unicode.IsControl) ||
			strings.TrimRight(p, ". ") != p || NotReserved(p) != p || len(p) > 255 {
			return "", bad
		}
	}
	return s, nil
}

// PhotosFolder is where in a book's folder its photos lie.
const PhotosFolder = "photos"
