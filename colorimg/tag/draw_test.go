package tag

import (
	"image"
	"image/color"
)

// drawCode is the code of p with its quiet zone, each module so many pixels wide:
// black on white.
func drawCode(p Payload, module int) (*image.Gray, error) {
	rows, err := Matrix(p.String())
	if err != nil {
		return nil, err
	}
	side := (len(rows) + 2*Quiet) * module
	im := image.NewGray(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			if !dark(rows, x/module-Quiet, y/module-Quiet) {
				im.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	return im, nil
}

// dark reports the colour of a module; those around the code are white.
func dark(rows [][]bool, x, y int) bool {
	return y >= 0 && y < len(rows) && x >= 0 && x < len(rows[y]) && rows[y][x]
}
