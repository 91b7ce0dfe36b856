package compose

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"hueward/colorimg/camera"
	"hueward/selection/book"
)

// Cameras returns the camera models in the book, by the cameras' names.
func Cameras(ctx context.Context, b *book.Book) (map[string]*camera.Model, error) {
	kept, err := b.CameraModels(ctx)
	if err != nil {
		return nil, err
	}
	models := make(map[string]*camera.Model, len(kept))
	for _, k := range kept {
		m := new(camera.Model)
		switch err := json.Unmarshal(k.Model, m); {
		case errors.Is(err, camera.ErrNewer):
			return nil, fmt.Errorf("camera %s: %w; use a newer hueward", k.Camera, err)
		case err != nil:
			return nil, fmt.Errorf("camera %s: %w; learn it again, or remove it: hueward camera --forget %q", k.Camera, err, k.Camera)
		}
		models[k.Camera] = m
	}
	return models, nil
}
