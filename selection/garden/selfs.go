package garden

import (
	"context"

	"hueward/selection/book"
	"hueward/selection/calendar"
)

// SetsSelfs says that the line's crop sets little seed to its own pollen, so that no plant
// is selfed; empty: it sets some, or no crop was said.
func SetsSelfs(ctx context.Context, b *book.Book, line string) (not string, err error) {
	c, ok, err := CropOf(ctx, b, line)
	if err != nil || !ok || c.Self != calendar.SelfSterile {
		return "", err
	}
	return "no plant is selfed: " + c.Title + " sets little or no seed to its own pollen", nil
}
