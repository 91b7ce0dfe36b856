package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// CameraModel is what was learnt of one phone's colours.
type CameraModel struct {
	Camera   string          // make and model as in its photos' EXIF; compared without regard to case
	Model    json.RawMessage // the model as the caller encoded it; the book does not read it
	Kind     string          // the kind of correction, in a word
	Patches  int             // number of chart patches it was learnt from
	Error    float64         // mean leave-one-out error, Delta E 2000
	Photo    string          // name of the chart's photo
	LearntAt time.Time       // zero: now
}

// SetCameraModel stores a phone's colour correction in place of an earlier one of the same phone; replaced reports
// whether there was one. Readings made with the earlier one stay as they are until their photos are measured again.
func (b *Book) SetCameraModel(ctx context.Context, m CameraModel) (replaced bool, err error) {
	m.Camera = strings.TrimSpace(m.Camera)
	switch {
	case m.Camera == "":
		return false, errors.New("keep a camera model: no camera is named")
	case !json.Valid(m.Model):
		return false, fmt.Errorf("keep the model of camera %q: it is not JSON", m.Camera)
	case !record.Finite(m.Error) || m.Error < 0 || m.Patches < 0:
		return false, fmt.Errorf("keep the model of camera %q: error %v of %d patches; give ordinary numbers", m.Camera, m.Error, m.Patches)
	}
	if m.LearntAt.IsZero() {
		m.LearntAt = b.now()
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		replaced = removeModel(t, m.Camera)
		id := t.Add("camera_model", "camera, key, model, kind, patches, loo_de, photo, learnt_at", m.Camera, naming.Key(m.Camera),
			string(m.Model), m.Kind, m.Patches, m.Error, m.Photo, m.LearntAt.UTC().Format(time.RFC3339))
		t.NoteAdded("camera_model", id)
		return "colours of camera " + m.Camera + " learnt"
	})
	return replaced && err == nil, err
}

// CameraModels returns the colour corrections of all phones, in natural order of camera.
func (b *Book) CameraModels(ctx context.Context) ([]CameraModel, error) {
	out, err := sqlite.Collect(ctx, b.from, "SELECT camera, model, kind, patches, loo_de, photo, learnt_at FROM camera_model", nil,
		func(rows *sql.Rows, m *CameraModel) error {
			return rows.Scan(&m.Camera, (*[]byte)(&m.Model), &m.Kind, &m.Patches, &m.Error, &m.Photo, record.AsTime(&m.LearntAt))
		})
	slices.SortFunc(out, func(x, y CameraModel) int { return selection.CompareIDs(x.Camera, y.Camera) })
	return out, err
}

// ForgetCameraModel removes a phone's model, and nothing else. It returns ErrNotFound when there is none.
func (b *Book) ForgetCameraModel(ctx context.Context, camera string) error {
	camera = strings.TrimSpace(camera)
	return b.Change(ctx, func(t *record.Tx) string {
		if !removeModel(t, camera) {
			t.Failf("model of camera %q: %w", camera, ErrNotFound)
		}
		return "colours of camera " + camera + " forgotten"
	})
}

// removeModel removes a camera's model and notes the removed row for undo.
func removeModel(t *record.Tx, camera string) (removed bool) {
	var id int64
	if !t.Get("SELECT id FROM camera_model WHERE key = ?", naming.Key(camera)).Found(&id) {
		return false
	}
	t.Remove("camera_model", id, id)
	return true
}
