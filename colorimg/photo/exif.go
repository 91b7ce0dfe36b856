package photo

import (
	"bytes"
	"slices"
	"strings"
	"time"

	"github.com/bep/imagemeta"
)

// capture is what EXIF says about how a photo was taken.
type capture struct {
	orientation int // 1 to 8
	taken       time.Time
	camera      string
	space       exifSpace
}

// exifSpace is the colour space that EXIF names, for a photo without a profile.
type exifSpace int

const (
	exifSRGB exifSpace = iota // or nothing
	exifAdobeRGB
	exifOther // not sRGB, and no more
)

// exifTags are those that are read.
var exifTags = []string{"Orientation", "ColorSpace", "Make", "Model", "DateTimeOriginal", "CreateDate", "OffsetTimeOriginal",
	"OffsetTimeDigitized"}

// exifInterop is the directory that tells by its index of the colour space; imagemeta calls the index by another tag's name.
const exifInterop = "IFD0/ExifIFDP/InteroperabilityIFD"

// readEXIF reads an EXIF block, which is a TIFF structure. A broken block
// gives what could be read before the damage: no photo fails for its EXIF.
//
// imagemeta recovers from its own panics and bounds its allocations by the tag limits; FuzzEXIF tries both. Its time
// zone is the computer's own, so the time is parsed here.
//
// Source: CIPA DC-008 (EXIF 2.32) 4.6.4, 4.6.5 and 4.6.7; CIPA DC-009 (DCF 2.0): the index R03 is that of files in the
// optional colour space, Adobe RGB (from memory).
func readEXIF(b []byte) capture {
	c := capture{orientation: 1}
	if len(b) < 8 {
		return c
	}
	words := map[string]string{}
	optional := false                // the file is in DCF's optional colour space
	defer func() { _ = recover() }() // belts and braces around a foreign parser
	_, _ = imagemeta.Decode(imagemeta.Options{
		R:           bytes.NewReader(b),
		ImageFormat: imagemeta.TIFF,
		Sources:     imagemeta.EXIF,
		ShouldHandleTag: func(t imagemeta.TagInfo) bool {
			return t.Namespace == exifInterop ||
				(t.Namespace == "IFD0" || t.Namespace == "IFD0/ExifIFDP") && slices.Contains(exifTags, t.Tag)
		},
		HandleTag: func(t imagemeta.TagInfo) error {
			switch v := t.Value.(type) {
			case string:
				if t.Namespace == exifInterop {
					optional = optional || v == "R03"
				} else {
					words[t.Tag] = v
				}
			case uint16:
				switch {
				case t.Tag == "Orientation" && v >= 1 && v <= 8:
					c.orientation = int(v)
				case t.Tag == "ColorSpace" && v == 0xffff: // uncalibrated
					c.space = exifOther
				}
			}
			return nil
		},
	})
	if c.space == exifOther && optional {
		c.space = exifAdobeRGB
	}
	c.taken = captureTime(words["DateTimeOriginal"], words["OffsetTimeOriginal"])
	if c.taken.IsZero() {
		c.taken = captureTime(words["CreateDate"], words["OffsetTimeDigitized"])
	}
	c.camera = cameraName(words["Make"], words["Model"])
	return c
}

// captureTime reads "2024:07:30 14:05:09" and an optional "+02:00". Without a
// zone the digits are kept as UTC. Anything else is the zero time.
func captureTime(digits, zone string) time.Time {
	const layout = "2006:01:02 15:04:05"
	digits, zone = strings.TrimSpace(digits), strings.TrimSpace(zone)
	if t, err := time.Parse(layout+"-07:00", digits+zone); err == nil && zone != "" {
		return t
	}
	t, err := time.Parse(layout, digits)
	if err != nil || t.Year() < 1 {
		return time.Time{}
	}
	return t
}

// cameraName joins make and model; many cameras repeat the make in the model.
func cameraName(brand, model string) string {
	brand, model = plain(brand, 64), plain(model, 64)
	switch {
	case model == "":
		return brand
	case brand == "", strings.HasPrefix(strings.ToLower(model), strings.ToLower(strings.Fields(brand)[0])):
		return model
	}
	return brand + " " + model
}
