package tag

import (
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render/scenes"
)

// TestSheetPhotographed goes the whole way: a JPEG of a sheet is opened, its
// code read, and the sheet found from the code's corners as they were read.
func TestSheetPhotographed(t *testing.T) {
	t.Parallel()
	for _, name := range SheetNames() {
		s, _ := SheetNamed(name)
		p := drawnPaper(t, s, false)
		var errs, codes []float64
		for seed := range scenes.Count(4, 8) {
			rnd := rand.New(rand.NewPCG(uint64(seed), 4))
			width := []int{900, 1600}[seed%2]
			tilt := 30 * math.Pi / 180 * float64(seed) / float64(scenes.Count(4, 8)-1)
			cam := newCamera(s, width, width*3/4, tilt, 2*math.Pi*rnd.Float64(), math.Pi/2*float64(seed%4)+0.4*rnd.Float64()-0.2, 0.62)
			file := filepath.Join(t.TempDir(), "sheet.jpg")
			f := must.Have(os.Create(file))(t)
			must.OK(t, jpeg.Encode(f, cam.photograph(p, 0.3, 4, rnd), &jpeg.Options{Quality: 88}))
			f.Close()
			ph := must.Have(photo.Open(t.Context(), file, nil))(t)
			tags := Read(ph)
			if len(tags) != 1 {
				t.Errorf("%s, seed %d: %d codes seen, want 1", name, seed, len(tags))
				continue
			}
			said, ok := Parse(tags[0].Text)
			if want := (Payload{Plant: "M-07", Sheet: name}); !ok || said != want {
				t.Errorf("%s, seed %d: the code says %+v, want %+v", name, seed, said, want)
				continue
			}
			for i, q := range s.Code.Corners() {
				c := cam.sees(q)
				codes = append(codes, math.Hypot(c[0]-tags[0].Corners[i][0],
					c[1]-tags[0].Corners[i][1])/(0.62*float64(width)/s.Width)/s.Code.W)
			}
			light := ph.Lightness()
			l, ok := s.Refine(PhotoLuma(&light), tags[0].Corners)
			if !ok || l.Marks != 4 {
				t.Errorf("%s, seed %d: %d marks found, want 4", name, seed, l.Marks)
				continue
			}
			e := worstCard(l, cam)
			if errs = append(errs, e); e > 0.003 {
				t.Errorf("%s, seed %d: a card corner is off by %.4f of the sheet's width, want ≤ 0.003", name, seed, e)
			}
		}
		if len(errs) == 0 {
			t.Fatalf("%s: no sheet was found", name)
		}
		t.Logf("%s: card corner off by %.4f at most; the code's corners as read by %.4f of its width", name, slices.Max(errs),
			slices.Max(codes))
	}
}
