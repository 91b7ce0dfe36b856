package book_test

import (
	"context"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/record"
	"hueward/selection/space"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
)

// Whatever a reading holds comes back from the book as it went in.
func TestReadingRoundTrip(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	photo := booktest.Record(t, b, "M-7", "a.jpg", "bloom").Photo
	num := rapid.Float64Range(-1e6, 1e6)
	triple := rapid.Custom(func(t *rapid.T) *colorimg.Triple {
		return &colorimg.Triple{num.Draw(t, "x"), num.Draw(t, "y"), num.Draw(t, "z")}
	})
	point := rapid.Custom(func(t *rapid.T) colorimg.Point { return colorimg.Point{num.Draw(t, "x"), num.Draw(t, "y")} })
	maybe := rapid.Bool()
	se := rapid.Float64Range(0, 1000)
	rapid.Check(t, func(t *rapid.T) {
		r := booktest.Reading("bloom")
		r.Status = rapid.SampledFrom([]colorimg.Status{colorimg.OK, colorimg.Check, colorimg.Refused}).Draw(t, "status")
		r.Reason = rapid.StringMatching(`[a-zé"'\n]{1,9}`).Draw(t, "reason")
		r.Lab, r.Spread, r.SELab = triple.Draw(t, "lab"), nil, nil
		if maybe.Draw(t, "errors") {
			r.Spread, r.SELab = triple.Draw(t, "spread"), &colorimg.Triple{se.Draw(t, "se_L"), se.Draw(t, "se_a"), se.Draw(t, "se_b")}
		}
		r.SE = colorimg.Errors{Precision: se.Draw(t, "precision"), Trueness: se.Draw(t, "trueness")}
		r.Colors = nil
		for range rapid.IntRange(0, 3).Draw(t, "colours") {
			r.Colors = append(r.Colors, colorimg.Share{Lab: *triple.Draw(t, "colour"), Share: num.Draw(t, "share")})
		}
		r.Flags = rapid.SliceOfN(rapid.SampledFrom([]colorimg.Flag{colorimg.FlagNoCard, colorimg.FlagProfile}), 0, 3).Draw(t, "flags")
		if maybe.Draw(t, "no card") {
			r.Card = colorimg.CardRead{Gains: [3]float64{1, 1, 1}}
		}
		r.Petal = colorimg.PetalArea{Pixels: rapid.IntRange(0, 1e8).Draw(t, "pixels"), Share: num.Draw(t, "area")}
		if maybe.Draw(t, "bloom") {
			p := point.Draw(t, "at")
			r.Petal.Bloom = &p
		}
		for range rapid.IntRange(0, 2).Draw(t, "polygons") {
			r.Petal.Outline = append(r.Petal.Outline, rapid.SliceOfN(point, 1, 4).Draw(t, "outline"))
		}
		r.Petal.DiameterPixels, r.Petal.DiameterMM = num.Draw(t, "pixels across"), num.Draw(t, "mm across")
		r.Radial, r.Zones = nil, nil
		for range rapid.IntRange(0, 3).Draw(t, "rings") {
			r.Radial = append(r.Radial, colorimg.Ring{At: num.Draw(t, "at"), Lab: *triple.Draw(t, "ring"), Share: num.Draw(t, "share")})
			r.Zones = append(r.Zones, colorimg.Zone{Name: "tip", From: num.Draw(t, "from"), To: num.Draw(t, "to"), Lab: *triple.Draw(t, "zone"),
				Share: num.Draw(t, "share")})
		}
		r.Model = rapid.StringMatching(`[a-zé"'\n]{0,9}`).Draw(t, "model")
		r.Card.Kind = rapid.SampledFrom([]string{"", "grey", "strip", "patches"}).Draw(t, "card")
		if maybe.Draw(t, "no tag") {
			r.Tag = colorimg.TagRead{}
		} else {
			r.Tag = colorimg.TagRead{Found: maybe.Draw(t, "found"), Text: rapid.String().Draw(t, "tag"), MM: num.Draw(t, "mm"), Sheet: "A5"}
		}
		must.OK(t, record.CheckReading(r))
		must.OK(t, b.Change(context.Background(), func(t *record.Tx) string {
			b.InsertReading(t, photo.ID, r)
			return "measured again"
		}))
		rs, err := b.Readings(context.Background(), "marigold", "2026")
		if err != nil || len(rs) != 1 {
			t.Fatalf("Readings = %d, %v, want 1", len(rs), err)
		}
		got := rs[0].Measured
		if d := cmp.Diff(record.Stored(r), record.Stored(&got)); d != "" {
			t.Fatalf("reading (-put in +got back):\n%s", d)
		}
		if got.SHA256 != r.SHA256 || got.Camera != r.Camera || got.Size != r.Size || *got.Plant != "M-7" || !got.TakenAt.Equal(r.TakenAt.Time) {
			t.Fatalf("capture facts %+v, want those of the photo", got)
		}
	})
}

func TestObservations(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	put := func(plant, name string, change func(*colorimg.Reading)) {
		r := booktest.Reading(name)
		change(r)
		must.Have(b.Record(ctx, Entry{File: booktest.WriteFile(t, name, name), Line: "marigold", Season: "2026", Plant: plant,
			Reading: r}))(t)
	}
	put("M-10", "a.jpg", func(*colorimg.Reading) {})
	put("M-9", "c10.jpg", func(r *colorimg.Reading) {
		r.Status, r.Reason, r.Lab = colorimg.Refused, "no flower found", nil
	})
	put("M-9", "c9.jpg", func(r *colorimg.Reading) {
		r.Status, r.Flags = colorimg.Check, []colorimg.Flag{colorimg.FlagNoCard}
	})
	must.OK(t, b.AddInstrumentReading(ctx, InstrumentReading{Plant: "m-10", Season: "2026", Source: "colorimeter", Lab: booktest.Buff,
		SE: 0.3}))
	put("M-1", "old.jpg", func(*colorimg.Reading) {})
	rs := must.Have(b.Readings(ctx, "marigold", "2026"))(t)
	lab, se := cie.Lab{L: 74.2, A: 18.5, B: 36.1}, [3]float64{0.3, 0.2, 0.3}
	want := []selection.Observation{
		{Plant: "M-1", Photo: "old.jpg", Lab: lab, SE: se, Precision: 0.4, Trueness: 1.9},
		{Plant: "M-9", Photo: "c9.jpg", Lab: lab, SE: se, Precision: 0.4, Trueness: 1.9, Check: true, NoCard: true},
		{Plant: "M-9", Photo: "c10.jpg", Precision: 0.4, Trueness: 1.9, Refused: true, Reason: "no flower found"},
		{Plant: "M-10", Photo: "a.jpg", Lab: lab, SE: se, Precision: 0.4, Trueness: 1.9},
		{Plant: "M-10", Photo: "colorimeter", Lab: booktest.Buff, SE: space.SpreadError(booktest.Buff, 0.3), Precision: 0.3, Trueness: 0.3},
	}
	booktest.Same(t, "observations", want, Observations(rs))
	for _, c := range []struct {
		line, season string
		want         int
	}{{"marigold", "2025", 0}, {"cosmos", "", 0}, {"", "", 5}, {"MARIGOLD", "", 5}} {
		if rs, err := b.Readings(ctx, c.line, c.season); err != nil || len(rs) != c.want {
			t.Errorf("Readings(%q, %q) = %d, %v, want %d", c.line, c.season, len(rs), err, c.want)
		}
	}
}

func TestReadingErrors(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.OK(t, b.AddPlant(ctx, Plant{ID: "M-1", Line: "marigold", Season: "2026"}))
	for name, r := range map[string]InstrumentReading{
		"no source":     {Plant: "M-1", Season: "2026"},
		"a photo":       {Plant: "M-1", Season: "2026", Source: "photo"},
		"unknown plant": {Plant: "M-2", Season: "2026", Source: "colorimeter"},
		"no season":     {Plant: "M-1", Source: "colorimeter"},
		"negative SE":   {Plant: "M-1", Season: "2026", Source: "colorimeter", SE: -1},
	} {
		if err := b.AddInstrumentReading(ctx, r); err == nil {
			t.Errorf("%s: AddInstrumentReading succeeds", name)
		}
	}
	if n := booktest.Count(t, b, "reading"); n != 0 {
		t.Errorf("%d readings, want none", n)
	}
	at := time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)
	must.OK(t, b.AddInstrumentReading(ctx, InstrumentReading{Plant: "M-1", Season: "2026", Source: "colorimeter", At: at}))
	if rs, _ := b.Readings(ctx, "", ""); len(rs) != 1 || !rs[0].MeasuredAt.Equal(at) || rs[0].Photo != nil || rs[0].Source != "colorimeter" {
		t.Errorf("Readings = %+v, want the instrument's, of July", rs)
	}
}
