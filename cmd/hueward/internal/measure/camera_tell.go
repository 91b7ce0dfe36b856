package measure

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/camera"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
)

// poor is the leave-one-out error from which on something is likely wrong with
// the photo or the file; a guess. The grey card alone leaves about 6.
const poor = 5

func (a *app) tellLearnt(l *learnt, o *cameraOptions) error {
	m := l.model
	if m.Error.Mean > poor {
		a.Warn("%s: the patches are predicted badly (mean error %s Delta E 2000); check that the file is for this chart, "+
			"and that the light is even", l.file, words.Fixed(m.Error.Mean, 1))
	}
	switch {
	case o.out.JSON:
		for i := range l.corners {
			for k := range l.corners[i] {
				l.corners[i][k], _ = strconv.ParseFloat(words.Fixed(l.corners[i][k], 1), 64)
			}
		}
		return terminal.WriteJSON(a.Stdout, terminal.Of("camera,photo,chart,corners,kept,replaced,name,model",
			l.camera, l.file, l.set, l.corners, l.kept, l.replaced, m.String(), m))
	case o.out.CSV:
		var rows [][]string
		for _, e := range m.Errors {
			rows = append(rows, []string{l.camera, e.ID, words.Fixed(e.DeltaE, 2)})
		}
		return terminal.WriteCSV(a.Stdout, []string{"camera", "patch", "delta_e"}, rows)
	}
	s := a.Stdout
	chart := words.Count(m.Patches, "patch")
	if l.set != "" {
		chart += " of " + l.set
	}
	fmt.Fprintf(s, "%s  %s, %s%s\n\n", s.Strong(l.file), l.camera, chart, at(&l.corners))
	var rows [][]string
	for _, c := range m.Candidates {
		note := ""
		switch {
		case c.Chosen:
			note = "taken"
		case c.Wild:
			note = "not taken: leaps beyond the chart's own colours"
		}
		rows = append(rows, []string{c.Name, words.Fixed(c.Error.Mean, 2), words.Fixed(c.Error.Median, 2), words.Fixed(c.Error.Worst, 2), note})
	}
	s.Table([]terminal.Column{{Head: "correction", Words: true}, {Head: "mean", Right: true}, {Head: "median", Right: true},
		{Head: "worst", Right: true}, {Head: "", Words: true}}, rows)
	s.Say("", "Errors are Delta E 2000 of patches that the model had not seen.")
	fmt.Fprintln(s)
	s.Say("", fmt.Sprintf("Trueness of this phone's photos: ± %s Delta E 2000 against an instrument.", words.Fixed(m.Trueness(), 1)))
	s.Say("", "Worst patches: "+worstPatches(m.Errors)+".")
	if len(m.LeftOut) > 0 {
		parts := words.Each(m.LeftOut, func(p camera.LeftOut) string { return fmt.Sprintf("%s (%s)", p.ID, p.Why) })
		s.Say("", "Left out: "+strings.Join(parts, ", ")+".")
	}
	if len(m.Cut) > 0 {
		s.Say("", "More vivid than the photo can hold, so they count for less: "+strings.Join(m.Cut, ", ")+".")
	}
	fmt.Fprintln(s)
	if !l.kept {
		s.Say("", "Not kept: there is no book here. Start one (hueward new DIR) and run this again in it, or give --book DIR.")
		return nil
	}
	instead := ""
	if l.replaced {
		instead = ", in place of an earlier model"
	}
	s.Say("", fmt.Sprintf("Kept in %s%s; photos of %s measured from now on are corrected by it.", l.dir, instead, l.camera))
	return nil
}

// worstPatches names the three that are predicted worst.
func worstPatches(list []camera.PatchError) string {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(x, y camera.PatchError) int { return cmp.Compare(y.DeltaE, x.DeltaE) })
	return strings.Join(words.Each(list[:min(3, len(list))], func(e camera.PatchError) string {
		return fmt.Sprintf("%s (%s)", e.ID, words.Fixed(e.DeltaE, 1))
	}), ", ")
}

func (a *app) listCameras(ctx context.Context, b *book.Book, o *cameraOptions) error {
	kept, err := b.CameraModels(ctx)
	if err != nil {
		return err
	}
	models, err := compose.Cameras(ctx, b)
	if err != nil {
		return err
	}
	l := terminal.Listing{Fields: "camera,kind,patches,error,photo,learnt_at,model", CSV: "camera,kind,patches,error,trueness,photo,learnt_at",
		None: "No camera's colours are known yet; photograph a chart: hueward camera PHOTO --patches FILE",
		Columns: []terminal.Column{{Head: "camera", Words: true}, {Head: "model", Of: "name", Words: true},
			{Head: "error", Of: "mean", Right: true}, {Head: "trueness", Of: "±", Right: true}, {Head: "photo", Words: true}}}
	for _, k := range kept {
		m := models[k.Camera]
		l.Add(k.Camera, k.Kind, k.Patches, k.Error, k.Photo, k.LearntAt.Format(time.RFC3339), m).
			Also("name", m.String(), "error", words.Fixed(k.Error, 3), "mean", words.Fixed(k.Error, 2),
				"trueness", words.Fixed(m.Trueness(), 3), "±", "± "+words.Fixed(m.Trueness(), 1))
	}
	return a.Stdout.List(&o.out, l, nil)
}

func (a *app) forgetCamera(ctx context.Context, b *book.Book, o *cameraOptions) error {
	err := b.ForgetCameraModel(ctx, o.forget)
	if errors.Is(err, book.ErrNotFound) {
		return fmt.Errorf("%w; hueward camera lists those that are", err)
	}
	return a.Tell(err, "%s: forgotten; photos measured from now on are corrected by their grey card alone.\n", strings.TrimSpace(o.forget))
}
