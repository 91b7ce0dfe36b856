package photo

import (
	"bytes"
	"unicode/utf8"
)

// The formats that are opened, as written in [Photo.Format].
const (
	formatJPEG = "jpeg"
	formatPNG  = "png"
	formatTIFF = "tiff"
	formatWebP = "webp"
	formatHEIC = "heic"
)

const hintPhoto = "give a JPEG, HEIC, PNG, TIFF or WebP photo"

// formatOf returns the format by the file's first bytes, whatever its name is. For a file
// that cannot be opened, it returns the error to report.
func formatOf(file string, b []byte) (string, error) {
	has := func(at int, s string) bool { return len(b) >= at+len(s) && string(b[at:at+len(s)]) == s }
	switch {
	case len(b) == 0:
		return "", broken(file, "the file is empty", nil)
	case has(0, "\xff\xd8\xff"):
		return formatJPEG, nil
	case has(0, "\x89PNG\r\n\x1a\n"):
		return formatPNG, nil
	case has(0, "II*\x00") && has(8, "CR"):
		return "", unsupported(file, "is a camera raw file", hintJPEG, nil)
	case has(0, "II*\x00"), has(0, "MM\x00*"):
		return formatTIFF, nil
	case has(0, "RIFF") && has(8, "WEBP"):
		return formatWebP, nil
	case has(4, "ftyp"):
		return brand(file, b)
	case has(0, "\xff\x0a"), has(4, "JXL "):
		return "", unsupported(file, "is a JPEG XL picture, which is not handled", hintJPEG, nil)
	case has(4, "jP  "), has(0, "\xff\x4f\xff\x51"):
		return "", unsupported(file, "is a JPEG 2000 picture, which is not handled", hintJPEG, nil)
	case has(0, "GIF8"):
		return "", unsupported(file, "is a GIF picture, which holds too few colours to measure",
			"measure the photo as the camera wrote it", nil)
	case has(0, "BM"), has(0, "8BPS"):
		return "", unsupported(file, "is a picture in a format that is not handled", hintJPEG, nil)
	case has(0, "FUJIFILMCCD-RAW"), has(0, "IIRO"), has(0, "IIU\x00"), has(0, "II\x1a\x00\x00\x00HEAPCCDR"), has(0, "FOVb"):
		return "", unsupported(file, "is a camera raw file", hintJPEG, nil)
	case has(0, "%PDF"):
		return "", unsupported(file, "is a PDF, not a photo", hintJPEG, nil)
	}
	if len(bytes.Trim(b[:min(len(b), 4096)], "\x00")) == 0 {
		return "", broken(file, "the file holds only zeros", nil)
	}
	// The beginning of a signature and no more is a photo cut short.
	for _, s := range []string{"\xff\xd8\xff", "\x89PNG\r\n\x1a\n", "II*\x00", "MM\x00*", "RIFF"} {
		if len(b) < 12 && bytes.HasPrefix([]byte(s), b[:min(len(b), len(s))]) {
			return "", broken(file, "the file is cut short", nil)
		}
	}
	return "", unsupported(file, textKind(b), hintPhoto, nil)
}

// brand names the file by the brands of its first box.
//
// Source: ISO/IEC 23008-12 (HEIF) annex B and the AVIF specification; from memory.
func brand(file string, b []byte) (string, error) {
	n := int(b[0])<<24 | int(b[1])<<16 | int(b[2])<<8 | int(b[3])
	box := b[8:max(8, min(len(b), n, 256))]
	kind := ""
	for i := 0; i+4 <= len(box); i += 4 {
		if i == 4 { // the minor version, not a brand
			continue
		}
		switch string(box[i : i+4]) {
		case "avif", "avis":
			return "", unsupported(file, "is an AVIF picture, which is not handled", hintJPEG, nil)
		case "heic", "heix", "hevc", "hevx", "heim", "heis", "hevm", "hevs", "mif1", "mif2", "msf1", "miaf":
			kind = formatHEIC
		case "crx ":
			return "", unsupported(file, "is a camera raw file", hintJPEG, nil)
		}
	}
	if kind != "" {
		return kind, nil
	}
	return "", unsupported(file, "is a video or another kind of media file", hintPhoto, nil)
}

// textKind describes a file without a known signature.
func textKind(b []byte) string {
	head := b[:min(len(b), 1024)]
	for i := 0; i < utf8.UTFMax && len(head) < len(b) && !utf8.Valid(head); i++ {
		head = head[:len(head)-1] // a character cut in two
	}
	if !utf8.Valid(head) || bytes.IndexByte(head, 0) >= 0 {
		return "is not a photo in a known format"
	}
	low := bytes.ToLower(head)
	switch {
	case bytes.Contains(low, []byte("<svg")):
		return "is an SVG drawing, not a photo"
	case bytes.Contains(low, []byte("<html")), bytes.Contains(low, []byte("<!doctype html")):
		return "is a web page, not a photo"
	}
	return "is text, not a photo"
}
