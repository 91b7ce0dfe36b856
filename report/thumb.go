package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/draw"

	"github.com/disintegration/imaging"

	"hueward/colorimg/photo"
)

// ThumbSide is the longest side of a thumbnail in pixels: three of them a
// plant and 24 plants stay under 4 MB of report.
const ThumbSide = 320

// Thumbnail returns im made small enough for a report. im is upright and taken as sRGB; of a [photo.Photo], Image.Display is,
// which honours the photo's colour profile.
func Thumbnail(im image.Image) *image.NRGBA {
	n := copyOf(im)
	if n.Rect.Dx() <= ThumbSide && n.Rect.Dy() <= ThumbSide {
		return n
	}
	return imaging.Fit(n, ThumbSide, ThumbSide, imaging.CatmullRom)
}

// copyOf returns a copy of im that begins at (0, 0). Everything passed to imaging goes through it, as imaging
// panics on a paletted image with pixels beyond the end of its palette (its issue 165); here they become black.
func copyOf(im image.Image) *image.NRGBA {
	if p, ok := im.(*image.Paletted); ok && len(p.Palette) < 256 {
		full := *p
		full.Palette = append(make(color.Palette, 0, 256), p.Palette...)
		for len(full.Palette) < 256 {
			full.Palette = append(full.Palette, color.NRGBA{A: 255})
		}
		im = &full
	}
	b := im.Bounds()
	n := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(n, n.Rect, im, b.Min, draw.Src)
	return n
}

// dataURI encodes a picture anew, from its pixels alone, as a JPEG inside a link.
func dataURI(im image.Image) (template.URL, error) {
	var b bytes.Buffer
	if err := photo.EncodeJPEG(&b, im, 82); err != nil {
		return "", fmt.Errorf("encode thumbnail: %w", err)
	}
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b.Bytes())), nil
}
