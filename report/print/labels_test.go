package print

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/photo"
	"hueward/colorimg/tag"
)

// kinds are the labels that are printed, filled in as a season would.
var kinds = []struct {
	name  string
	least [2]float64
	write func(opt LabelOptions, n int) ([]byte, error)
	code  func(i int) string // what the code of label i says; a plant's without its width
}{
	{"tags", [2]float64{40, 20}, func(opt LabelOptions, n int) ([]byte, error) {
		var tags []PlantTag
		for i := range n {
			tags = append(tags, PlantTag{ID: fmt.Sprintf("27-%03dK", i+1), Line: "buff apricot", Generation: "F2", Parents: "26-001Y selfed",
				Season: "2027"})
		}
		var b bytes.Buffer
		err := PlantTags(&b, opt, tags)
		return b.Bytes(), err
	}, func(i int) string { return fmt.Sprintf("27-%03dK", i+1) }},
	{"heads", [2]float64{60, 30}, func(opt LabelOptions, n int) ([]byte, error) {
		var heads []HeadLabel
		for i := range n {
			heads = append(heads, HeadLabel{Name: fmt.Sprintf("M-07-%d", i+1), Parents: "M-07 × M-12", Cross: "X26-003D", Line: "buff apricot"})
		}
		var b bytes.Buffer
		err := HeadLabels(&b, opt, heads)
		return b.Bytes(), err
	}, func(i int) string { return fmt.Sprintf("HUEWARD:H:M-07-%d", i+1) }},
	{"packets", [2]float64{63, 33}, func(opt LabelOptions, n int) ([]byte, error) {
		var packets []PacketLabel
		for i := range n {
			packets = append(packets, PacketLabel{Name: fmt.Sprintf("P26-%03dS", i+1), Line: "buff apricot", Season: "2026", Generation: "F1",
				Of: "M-07 × M-12",
				Parents: []Parent{{ID: "M-07", Color: "strong orange", Hex: "#e98b3f", Lab: [3]float64{68, 30, 56}},
					{ID: "M-12", Color: "pale orange yellow", Hex: "#f4dfb0", Lab: [3]float64{89, 2, 25}}},
				Species: "pot marigold (Calendula)", Germination: "9 of 10 sprouted, 2026-09-11",
				Seeds: "55 seeds", Date: "2026-07-31", Place: "tin 3", Caution: "Not food. Keep from children and animals, dry and cool."})
		}
		var b bytes.Buffer
		err := PacketLabels(&b, opt, packets)
		return b.Bytes(), err
	}, func(i int) string { return fmt.Sprintf("HUEWARD:P:P26-%03dS", i+1) }},
}

// allGrids are the usual ones and those on plain paper.
func allGrids(t testing.TB) []Grid {
	grids := append([]Grid{}, Grids...)
	for _, paper := range []string{"a4", "letter"} {
		for _, size := range [][2]float64{{85, 32}, {80, 55}, {95, 65}} {
			g, err := Plain(paper, size[0], size[1])
			check(t, err)
			g.Name = fmt.Sprintf("%s-plain-%gx%g", paper, size[0], size[1])
			grids = append(grids, g)
		}
	}
	return grids
}

// pageOf draws the first page of a PDF.
func pageOf(t *testing.T, pdf []byte, dpi int) *image.Gray {
	t.Helper()
	page := drawnPage(t, pdf, dpi)
	if keep := os.Getenv("HUEWARD_LOOK"); keep != "" { // to look at the sheets
		b, _ := os.ReadFile(page)
		os.WriteFile(filepath.Join(keep, strings.ReplaceAll(t.Name(), "/", "_")+".pgm"), b, 0o666)
	}
	return readGray(t, page)
}

// seenAs is the size of a page's photo.
func seenAs(page image.Rectangle) image.Rectangle {
	return image.Rect(0, 0, page.Dx()+page.Dx()/8, page.Dy()+page.Dy()/8)
}

// photographed is that part of the page's photo, as a phone sees it at 150 dots an inch: blurred by a
// Gaussian of a pixel, turned by 4° and tilted by 12° about its long side, by a
// central projection from one and a half page lengths away.
func photographed(im *image.Gray, part image.Rectangle) *image.Gray {
	w, h := float64(im.Rect.Dx()), float64(im.Rect.Dy())
	turn, tilt := 4*math.Pi/180, 12*math.Pi/180
	cosTurn, sinTurn, cosTilt, sinTilt := math.Cos(turn), math.Sin(turn), math.Cos(tilt), math.Sin(tilt)
	far := 1.5 * h
	whole := seenAs(im.Rect)
	cx, cy := float64(whole.Dx())/2, float64(whole.Dy())/2
	// The ray through a pixel meets the tilted page at (u, v).
	meets := func(x, y int) (float64, float64) {
		px, py := float64(x)-cx, float64(y)-cy
		v := py * far / (far*cosTilt - py*sinTilt)
		u := px * (far + v*sinTilt) / far
		return u*cosTurn + v*sinTurn + w/2, -u*sinTurn + v*cosTurn + h/2
	}
	var page image.Rectangle // what of it is seen
	for _, x := range []int{part.Min.X, part.Max.X} {
		for _, y := range []int{part.Min.Y, part.Max.Y} {
			sx, sy := meets(x, y)
			page = page.Union(image.Rect(int(sx)-8, int(sy)-8, int(sx)+8, int(sy)+8))
		}
	}
	page = page.Intersect(im.Rect)
	soft := blurred(cropped(im, page), 1)
	out := image.NewGray(image.Rect(0, 0, part.Dx(), part.Dy()))
	for y := range part.Dy() {
		for x := range part.Dx() {
			sx, sy := meets(part.Min.X+x, part.Min.Y+y)
			out.Pix[y*out.Stride+x] = uint8(sampled(soft, sx-float64(page.Min.X), sy-float64(page.Min.Y)) + 0.5)
		}
	}
	return out
}

func cropped(im *image.Gray, r image.Rectangle) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, r.Dx(), r.Dy()))
	draw.Draw(out, out.Rect, im, r.Min, draw.Src)
	return out
}

// blurred is im under a Gaussian with that standard deviation, in pixels.
func blurred(im *image.Gray, sigma float64) *image.Gray {
	r := int(3*sigma + 0.5)
	k := make([]float64, 2*r+1)
	sum := 0.0
	for i := range k {
		d := float64(i - r)
		k[i] = math.Exp(-d * d / (2 * sigma * sigma))
		sum += k[i]
	}
	pass := func(from *image.Gray, dx, dy int) *image.Gray {
		to := image.NewGray(from.Rect)
		for y := range from.Rect.Dy() {
			for x := range from.Rect.Dx() {
				v := 0.0
				for i := range k {
					sx, sy := min(max(x+dx*(i-r), 0), from.Rect.Dx()-1), min(max(y+dy*(i-r), 0), from.Rect.Dy()-1)
					v += k[i] * float64(from.Pix[sy*from.Stride+sx])
				}
				to.Pix[y*to.Stride+x] = uint8(v/sum + 0.5)
			}
		}
		return to
	}
	return pass(pass(im, 1, 0), 0, 1)
}

// sampled is the value between pixels; white beyond the page.
func sampled(im *image.Gray, x, y float64) float64 {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	if x0 < 0 || y0 < 0 || x0+1 >= im.Rect.Dx() || y0+1 >= im.Rect.Dy() {
		return 255
	}
	fx, fy := x-float64(x0), y-float64(y0)
	at := func(x, y int) float64 { return float64(im.Pix[y*im.Stride+x]) }
	return (1-fy)*((1-fx)*at(x0, y0)+fx*at(x0+1, y0)) + fy*((1-fx)*at(x0, y0+1)+fx*at(x0+1, y0+1))
}

// TestLabelCodes holds that every code of every kind of label on every grid is read
// back, at its printed size, from a blurred and tilted picture of 150 dots an inch, by
// our own reader and by ZBar's zbarimg. It looks at eight labels spread over a sheet; without HUEWARD_FULL=1
// at two, and of each grid at those of one kind. TestLabelsInPlace holds where all of them are.
func TestLabelCodes(t *testing.T) {
	needProgram(t, "zbarimg")
	for gi, g := range allGrids(t) {
		for ki, k := range kinds {
			if g.LabelW < k.least[0] || g.LabelH < k.least[1] || !everything && gi%len(kinds) != ki {
				continue
			}
			t.Run(k.name+"_"+g.Name, func(t *testing.T) {
				t.Parallel()
				sheet := g.Columns * g.Rows
				many := min(sheet, 2)
				if everything {
					many = min(sheet, 8)
				}
				pdf, err := k.write(LabelOptions{Grid: g}, sheet)
				if err != nil {
					t.Fatal(err)
				}
				page := pageOf(t, pdf, 150)
				want, parts := map[string]bool{}, map[int]*image.Gray{}
				var looked []int
				for n := range many {
					i := n * (sheet - 1) / max(many-1, 1)
					looked = append(looked, i)
					want[k.code(i)], parts[i] = true, photographed(page, around(page.Rect, g, i))
				}
				n := len(looked)
				own, other := map[string]bool{}, map[string]bool{}
				for _, i := range looked { // a photo is of one label, not of a sheet
					for _, c := range codes(t, parts[i]) {
						code := withoutWidth(c.Text)
						if want[code] { // not of a neighbour, of which a part is in the picture
							own[code] = true
						}
						if p, ok := tag.Parse(c.Text); ok && p.Plant != "" {
							widthPrinted(t, p, c.Corners)
						}
					}
				}
				// ZBar gets those that it misses again at two and three times their size, as a
				// scanner does that is moved nearer.
				dir := t.TempDir()
				for scale := 1; scale <= 3 && len(other) < n; scale++ {
					args := []string{"-q", "--raw"}
					for _, i := range looked {
						if other[k.code(i)] {
							continue
						}
						file := filepath.Join(dir, fmt.Sprint(i, "-", scale, ".png"))
						writePNG(t, file, enlarged(parts[i], scale))
						args = append(args, file)
					}
					out, _ := exec.Command("zbarimg", args...).Output() // it fails when one of many holds no code; what is missing is reported below
					for line := range strings.Lines(string(out)) {
						if code := withoutWidth(strings.TrimRight(line, "\n")); want[code] {
							other[code] = true
						}
					}
				}
				for code := range want {
					if !own[code] {
						t.Errorf("our reader misses %s", code)
					}
					if !other[code] {
						t.Errorf("zbarimg misses %s", code)
					}
				}
				if len(own) != n || len(other) != n {
					t.Errorf("%d and %d codes read, want %d", len(own), len(other), n)
				}
			})
		}
	}
}

// widthPrinted holds that a plant's code says how wide it is, as it is printed: the
// picture has 150 dots an inch, tilted by 12°: what lies farther away is up to a seventh smaller.
func widthPrinted(t *testing.T, p tag.Payload, corners [4][2]float64) {
	t.Helper()
	const px = 150 / 25.4
	wide := 0.0
	for i, q := range corners {
		r := corners[(i+1)%4]
		wide += math.Hypot(q[0]-r[0], q[1]-r[1]) / 4 / px
	}
	if !(math.Abs(p.MM-wide) < 0.15*wide) {
		t.Errorf("the code of %s says that it is %g mm wide, and is printed %.1f mm wide", p.Plant, p.MM, wide)
	}
}

// enlarged is the picture at so many times its size.
func enlarged(im *image.Gray, times int) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, times*im.Rect.Dx(), times*im.Rect.Dy()))
	k := float64(times)
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Pix[y*out.Stride+x] = uint8(sampled(im, (float64(x)+0.5)/k-0.5, (float64(y)+0.5)/k-0.5) + 0.5)
		}
	}
	return out
}

// codes are those that our own reader finds in a picture.
func codes(t *testing.T, im *image.Gray) []tag.Tag {
	t.Helper()
	file := filepath.Join(t.TempDir(), "label.png")
	writePNG(t, file, im)
	p, err := photo.Open(context.Background(), file, nil)
	check(t, err)
	return tag.Read(p)
}

func writePNG(t *testing.T, file string, im *image.Gray) {
	t.Helper()
	f, err := os.Create(file)
	check(t, err)
	defer f.Close()
	check(t, png.Encode(f, im))
}

// withoutWidth is what a code says, a plant's without the width of the code.
func withoutWidth(text string) string {
	if p, ok := tag.Parse(text); ok {
		return p.Plant
	}
	return text
}

// around is the part of the photographed page with label i, and a little more.
func around(page image.Rectangle, g Grid, i int) image.Rectangle {
	const px = 150 / 25.4
	seen := seenAs(page)
	x, y := g.cell(i)
	w, h := g.Width*px, g.Height*px
	cx, cy := (x+g.LabelW/2)*px-w/2, (y+g.LabelH/2)*px-h/2
	turn := 4 * math.Pi / 180
	mx := cx*math.Cos(turn) - cy*math.Sin(turn) + float64(seen.Dx())/2
	my := cx*math.Sin(turn) + cy*math.Cos(turn) + float64(seen.Dy())/2
	half := 0.62*math.Hypot(g.LabelW, g.LabelH)*px + 8
	return image.Rect(int(mx-half), int(my-half), int(mx+half), int(my+half)).Intersect(seen)
}

// TestLabelsInPlace holds that nothing is printed outside of its label's cell, to a
// tenth of a millimetre, whatever the names: drawn grids, long names, many labels.
func TestLabelsInPlace(t *testing.T) {
	needProgram(t, "pdftotext")
	box := regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">`)
	rapid.Check(t, func(t *rapid.T) {
		g := Grid{Width: a4Width, Height: a4Height}
		g.Columns, g.Rows = rapid.IntRange(1, 3).Draw(t, "columns"), rapid.IntRange(1, 6).Draw(t, "rows")
		g.GapAcross, g.GapDown = rapid.Float64Range(0, 4).Draw(t, "gap"), rapid.Float64Range(0, 4).Draw(t, "gap")
		g.Left, g.Top = rapid.Float64Range(0, 8).Draw(t, "left"), rapid.Float64Range(0, 8).Draw(t, "top")
		g.LabelW = rapid.Float64Range(63, min(140, (g.Width-g.Left)/float64(g.Columns)-g.GapAcross)).Draw(t, "width")
		g.LabelH = rapid.Float64Range(33, min(90, (g.Height-g.Top)/float64(g.Rows)-g.GapDown)).Draw(t, "height")
		name := rapid.StringMatching(`[A-Za-zÄéЖ0-9 ×.-]{1,60}`)
		long := func() string { return name.Draw(t, "text") }
		var b bytes.Buffer
		var err error
		opt := LabelOptions{Grid: g, Skip: rapid.IntRange(0, g.Columns*g.Rows-1).Draw(t, "skip")}
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			err = PlantTags(&b, opt, []PlantTag{{ID: "M-07", Line: long(), Generation: "F2", Parents: long(), Season: long()}})
		case 1:
			err = HeadLabels(&b, opt, []HeadLabel{{Name: "M-07-1", Parents: long(), Cross: long(), Line: long(),
				Days: rapid.IntRange(0, 7).Draw(t, "days")}})
		case 2:
			err = PacketLabels(&b, opt, []PacketLabel{{Name: "P26-003S", Line: long(), Of: long(), Season: long(), Seeds: long(), Place: long(),
				Caution: long(),
				Parents: []Parent{{ID: long(), Color: long()}, {ID: long()}}}})
		}
		check(t, err)
		cmd := exec.Command("pdftotext", "-bbox", "-", "-")
		cmd.Stdin = &b
		out, err := cmd.Output()
		check(t, err)
		x, y := g.cell(opt.Skip)
		words := box.FindAllStringSubmatch(string(out), -1)
		if len(words) == 0 {
			t.Fatal("nothing is printed")
		}
		for _, m := range words {
			var v [4]float64
			for i := range v {
				p, err := strconv.ParseFloat(m[i+1], 64)
				check(t, err)
				v[i] = p * 25.4 / 72
			}
			// The box of a word has its font's whole ascent and descent; letters reach
			// less far.
			slack := 0.3 * (v[3] - v[1])
			if v[0] < x-0.1 || v[2] > x+g.LabelW+0.1 || v[1] < y-0.1-slack || v[3] > y+g.LabelH+0.1+slack {
				t.Fatalf("a word at %.1f to %.1f, %.1f to %.1f mm, outside of the label at %.1f to %.1f, %.1f to %.1f", v[0], v[2], v[1], v[3], x,
					x+g.LabelW, y, y+g.LabelH)
			}
		}
	})
}

func TestGrids(t *testing.T) {
	for _, g := range allGrids(t) {
		if err := g.check(); err != nil {
			t.Errorf("%s: %v", g.Name, err)
		}
		if got, err := ParseGrid(strings.ToUpper(g.Name), "a4"); !g.Cut && (err != nil || got != g) {
			t.Errorf("ParseGrid(%q) = %+v, %v", g.Name, got, err)
		}
	}
	got, err := ParseGrid("2x7:99.1x38.1:4.65,15.15:2.5,0", "a4")
	want := Grids[1]
	want.Name = ""
	if err != nil || got != want {
		t.Errorf("ParseGrid = %+v, %v, want %+v", got, err, want)
	}
	for _, bad := range []string{"", "3x8", "3x8:70x37", "4x8:70x37:0,0", "3x8:70x38:0,0", "0x8:70x37:0,0", "3x8:7x3:0,0", "3x8:70xNaN:0,0",
		"1.5x8:70x30:0,0", "3x8:-70x37:0,0", "3x8:70x37:0,0:1", "3x8:70x37:0,0:1,1:2"} {
		if g, err := ParseGrid(bad, "a4"); err == nil {
			t.Errorf("ParseGrid(%q) = %+v", bad, g)
		}
	}
	if _, err := ParseGrid("3x8:70x37:0,0", "a3"); err == nil {
		t.Error("paper a3 was taken")
	}
}

// FuzzParseGrid: what is taken can be printed on.
func FuzzParseGrid(f *testing.F) {
	for _, g := range Grids {
		f.Add(g.Name)
	}
	f.Add("2x7:99.1x38.1:4.65,15.15:2.5,0")
	f.Fuzz(func(t *testing.T, s string) {
		g, err := ParseGrid(s, "letter")
		if err != nil {
			return
		}
		x, y := g.cell(g.Columns*g.Rows - 1)
		if !(x+g.LabelW <= g.Width+0.2) || !(y+g.LabelH <= g.Height+0.2) {
			t.Errorf("%q: the last label ends at %g, %g", s, x+g.LabelW, y+g.LabelH)
		}
	})
}

// TestLabelsSame: the same options give the same bytes; what cannot be printed is said.
func TestLabelsSame(t *testing.T) {
	for _, k := range kinds {
		opt := LabelOptions{Grid: Grids[0], Skip: 5}
		a, err1 := k.write(opt, 30)
		b, err2 := k.write(opt, 30)
		if err1 != nil || err2 != nil || !bytes.Equal(a, b) {
			t.Errorf("%s: twice the same differs (%v, %v)", k.name, err1, err2)
		}
		if _, err := k.write(LabelOptions{Grid: Grids[0], Skip: 24}, 1); err == nil {
			t.Errorf("%s: more labels used than a sheet has", k.name)
		}
	}
	small, err := Plain("a4", 40, 20)
	check(t, err)
	for _, k := range kinds[1:] {
		if _, err := k.write(LabelOptions{Grid: small}, 1); err == nil {
			t.Errorf("%s: printed on 40 × 20 mm", k.name)
		}
	}
	if err := PlantTags(&bytes.Buffer{}, LabelOptions{Grid: small}, []PlantTag{{ID: strings.Repeat("Ж", 40)}}); err == nil ||
		!strings.Contains(err.Error(), "use larger labels") {
		t.Errorf("an id too long for a small tag: %v", err)
	}
}

// A head left to bees and wind has no boxes for a bag or pollen; a cross whose own pollen
// must be kept out has one for that.
func TestHeadBoxes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		head HeadLabel
		want string
	}{
		{HeadLabel{}, "bagged, pollen 1, pollen 2, dry, harvest, seeds"},
		{HeadLabel{OwnPollen: true}, "bagged, anthers out, pollen 1, pollen 2, dry, harvest, seeds"},
		{HeadLabel{Open: true, OwnPollen: true}, "in flower, harvest, seeds"},
	} {
		var words []string
		for _, b := range c.head.boxes(2) {
			words = append(words, b.word)
		}
		if got := strings.Join(words, ", "); got != c.want {
			t.Errorf("%+v: %s, want %s", c.head, got, c.want)
		}
	}
}

// check ends the test where what it rests on went wrong.
func check(t rapid.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
