package enter

import (
	"context"
	"errors"
	"net/url"
	"strings"
	"time"

	"hueward/report/words"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

// Crops takes every form of the page of crops but those of one crop's values: "do" says which.
func Crops(ctx context.Context, b *book.Book, f *Form) (string, error) {
	switch f.Text("do") {
	case "line":
		return lineCrop(ctx, b, f)
	case "frost":
		return frost(ctx, b, f)
	case "no-frost":
		return "No last frost is set now.", b.SetLastFrost(ctx, nil)
	case "add":
		return addCrop(ctx, b, f)
	case "remove":
		key := calendar.CropKey(f.Text("crop"))
		if _, builtIn := calendar.Named(key); builtIn {
			return "", Wrongf("%s is built in and stays. Empty its fields to go back to the usual values.", key)
		}
		return "Crop " + key + " is taken out.", b.RemoveCrop(ctx, key)
	}
	return "", Wrongf("Say what is to be done with the crops.")
}

func lineCrop(ctx context.Context, b *book.Book, f *Form) (string, error) {
	line, err := garden.LineNamed(ctx, b, f.Text("line"))
	if err != nil {
		return "", err
	}
	if f.Text("crop") == "" {
		return "No crop is set for the line " + line.Name + " now.", b.SetLineCrop(ctx, line.Name, "")
	}
	c, err := garden.CropNamed(ctx, b, f.Text("crop"))
	if err != nil {
		return "", err
	}
	return join("the line " + line.Name + " is " + c.Title), b.SetLineCrop(ctx, line.Name, c.Name)
}

// frost keeps the last frost: of the day the month and day count, whatever the year.
func frost(ctx context.Context, b *book.Book, f *Form) (string, error) {
	d := f.dayAhead("frost")
	if f.Err != nil {
		return "", f.Err
	}
	if d.IsZero() {
		return "", Wrongf("Say a day, such as 15 May; its year does not matter.")
	}
	return "Last frost: about " + d.Format("2 January") + ". Today reminds you to sow and to plant out by it.", b.SetLastFrost(ctx, &d)
}

func addCrop(ctx context.Context, b *book.Book, f *Form) (string, error) {
	name := f.Text("name")
	if name == "" {
		return "", Wrongf("Say what the crop is called.")
	}
	var values []book.CropValue
	if sets := f.Text("sets"); sets != "" {
		values = append(values, book.CropValue{Field: "sets", Value: sets})
	}
	if err := garden.AddCrop(ctx, b, name, f.Text("title"), f.Text("like"), values); err != nil {
		return "", err
	}
	return "Crop " + calendar.CropKey(name) + " is added. Change below what you know better.", nil
}

// CropValues keeps those values of a crop that were changed in its form; one that was emptied is as usual again. What
// the form showed stands in "was", so that a form of yesterday takes nothing of today's back.
func CropValues(ctx context.Context, b *book.Book, f *Form) (string, error) {
	c, err := garden.CropNamed(ctx, b, f.Text("crop"))
	if err != nil {
		return "", err
	}
	was, err := url.ParseQuery(f.Values.Get("was"))
	if err != nil {
		return "", Wrongf("This form is from another page. Reload the page.")
	}
	var values []book.CropValue
	var said []string
	for _, v := range c.Values() {
		to := strings.Join(strings.Fields(f.Text(v.Field)), " ")
		if !f.Values.Has(v.Field) || to == was.Get(v.Field) {
			continue
		}
		if to != "" {
			if c, err = c.With(v.Field, to); err != nil {
				return "", Wrongf("%s", join(err.Error()))
			}
		}
		values = append(values, book.CropValue{Crop: c.Name, Field: v.Field, Value: to})
		said = append(said, v.Field)
	}
	if len(values) == 0 {
		return "", Wrongf("Nothing was changed.")
	}
	if err := b.SetCropValues(ctx, values...); err != nil {
		return "", err
	}
	return join(c.Title + ", changed: " + strings.Join(said, ", ")), nil
}

// CropPage is one crop, as its page shows it.
type CropPage struct {
	calendar.Crop
	Lines  []string // that are of it
	Groups []CropGroup
	Was    string // what the form shows, see [CropValues]
	Own    bool   // the grower added it
}

// CropGroup are values that belong together.
type CropGroup struct {
	Words  string
	Values []CropValue
}

// CropValue is one value, in a field.
type CropValue struct {
	calendar.Value
	Caption string
	Usual   string   // where the grower's own is another
	Words   []string // that it takes; nil: any
	Long    bool     // a sentence
}

// cropGroups are the values in the order of a year, and what their fields are called.
var cropGroups = []struct {
	words  string
	fields [][2]string
}{
	{"Seed and sowing", [][2]string{{"temperature", "Temperature for germination"}, {"light", "Light for germination"},
		{"sprout", "First and final count of a germination test, after"}, {"come-up", "From sowing to counting the plants"},
		{"raise", "From sowing under cover to planting out"}, {"plant-out", "Planting out after the last frost; below 0: before it"},
		{"fresh", "Well-kept new seed that sprouts"}, {"life", "Dry, cool seed is worth sowing for"}, {"per-gram", "Seeds in a gram"},
		{"dry", "Seed dries before its packet is closed"}}},
	{"Flowering and crossing", [][2]string{{"flower", "From sowing to the first open flower"},
		{"opens", "From bagging the bud to its opening"},
		{"first", "From opening to the first pollination"}, {"days", "Pollination lasts"}, {"self", "Seed by its own pollen"},
		{"emasculate", "How own pollen is kept out of a cross; empty: it need not be"},
		{"anthers", "When it is kept out: in the bud, or as the head opens"}, {"pollen-dry", "Pollen dries before it is closed"},
		{"pollen-life", "Dry pollen is good for, closed and in a refrigerator"}}},
	{"Ripe seed", [][2]string{{"ripe", "From the last pollination to ripe seed"}, {"seeds", "Seeds of a hand-pollinated head"},
		{"look", "What ripe looks like"}}},
	{"Keeping it true", [][2]string{{"hold", "How many plants hold a variety without inbreeding, at least"},
		{"distance", "Distance to others of its kind, where seed is saved open"}, {"genus", "Genus: crops of the same genus may cross"},
		{"sets", "Sets of chromosomes: 2 diploid, 4 tetraploid, 0 not known"}, {"isolate", "How other pollen is kept away"}}},
	{"What else", [][2]string{{"handling", "Anything else about it"}, {"caution", "How it can hurt"}}},
}

// CropPageOf is the page of one crop; the error wraps [book.ErrNotFound].
func CropPageOf(ctx context.Context, b *book.Book, name string) (*CropPage, error) {
	c, err := garden.CropNamed(ctx, b, name)
	if err != nil {
		return nil, err
	}
	crops, lines, added := ask.Of(ctx, &err, garden.Crops, b), ask.For(ctx, &err, b.Lines), ask.For(ctx, &err, b.OwnCrops)
	if err != nil {
		return nil, err
	}
	p := &CropPage{Crop: c}
	for _, l := range lines {
		if crops.Lines[l.Name] == c.Name {
			p.Lines = append(p.Lines, l.Name)
		}
	}
	base, builtIn := calendar.Named(c.Name)
	p.Own = !builtIn
	for _, a := range added {
		if p.Own && a.Name == c.Name {
			base, _ = calendar.Named(a.Base)
		}
	}
	at, usual := map[string]calendar.Value{}, map[string]string{}
	was := url.Values{}
	for _, v := range base.Values() {
		usual[v.Field] = v.Value
	}
	for _, v := range c.Values() {
		at[v.Field] = v
		was.Set(v.Field, v.Value)
	}
	p.Was = was.Encode()
	for _, g := range cropGroups {
		group := CropGroup{Words: g.words}
		for _, field := range g.fields {
			name := field[0]
			v := CropValue{Value: at[name], Caption: field[1], Words: calendar.Choices(name), Long: calendar.IsText(name) && name != "genus"}
			if v.Unit == "seeds" || v.Unit == "plants" || v.Unit == "sets" {
				v.Unit = "" // the caption has it
			}
			if crops.Own[c.Name+" "+name] && usual[name] != v.Value.Value {
				v.Usual = usual[name]
				if v.Usual == "" {
					v.Usual = "empty"
				}
			}
			group.Values = append(group.Values, v)
		}
		p.Groups = append(p.Groups, group)
	}
	return p, nil
}

// CropsPage is the list of all crops, with what is asked once of a garden.
type CropsPage struct {
	Lines []LineCrop
	Crops []CropRow
	Frost time.Time // of this year; zero: not said
	Like  string    // that a new one is to be a copy of
}

// LineCrop is a line and its crop; empty: it was not said.
type LineCrop struct{ Line, Crop, Title string }

// CropRow is one crop of the list.
type CropRow struct {
	calendar.Crop
	Lines string
	Own   bool // the grower added it
	Mine  int  // values of the grower's own
}

// CropsPageOf is the page of all crops on a day.
func CropsPageOf(ctx context.Context, b *book.Book, day time.Time) (_ *CropsPage, err error) {
	crops, names, lines := ask.Of(ctx, &err, garden.Crops, b), ask.Of(ctx, &err, garden.CropNames, b), ask.For(ctx, &err, b.Lines)
	if err != nil {
		return nil, err
	}
	p := &CropsPage{}
	at := map[string][]string{}
	for _, l := range lines {
		c := crops.Lines[l.Name]
		p.Lines = append(p.Lines, LineCrop{l.Name, c, crops.By[c].Title})
		at[c] = append(at[c], l.Name)
	}
	mine := map[string]int{}
	for k := range crops.Own {
		name, _, _ := strings.Cut(k, " ")
		mine[name]++
	}
	for _, n := range names {
		_, builtIn := calendar.Named(n)
		p.Crops = append(p.Crops, CropRow{crops.By[n], strings.Join(at[n], ", "), !builtIn, mine[n]})
	}
	switch last, err := b.LastFrost(ctx); {
	case err == nil:
		p.Frost = calendar.NearestFrost(last, day)
	case !errors.Is(err, book.ErrNoSetting):
		return nil, err
	}
	return p, nil
}

// Unsaid are the lines whose crop was not said.
func (p *CropsPage) Unsaid() (lines []string) {
	for _, l := range p.Lines {
		if l.Crop == "" {
			lines = append(lines, l.Line)
		}
	}
	return lines
}

// FrostWords are the last frost as it is told.
func (p *CropsPage) FrostWords() string { return p.Frost.Format("2 January") }

// FrostDay is it as a date field wants it; empty: not said.
func (p *CropsPage) FrostDay() string { return words.Day(p.Frost) }
