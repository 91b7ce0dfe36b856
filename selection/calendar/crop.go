package calendar

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Span is from Low to High, both included: days, seeds.
type Span struct{ Low, High int }

func (s Span) String() string {
	if s.Low == s.High {
		return strconv.Itoa(s.Low)
	}
	return fmt.Sprintf("%d–%d", s.Low, s.High)
}

// Crop is what is usual of a kind of flower. All of it differs with variety,
// climate and weather: the grower's own values, see [Crop.With], come first.
type Crop struct {
	Name     string // in one word
	Title    string
	Opens    Span   // days from a bud that is ready to be bagged to its opening
	First    Span   // days from opening to the first pollination
	Days     int    // days in a row on which it is pollinated
	Ripe     Span   // days from the last pollination to ripe seed
	Look     string // what ripe looks like
	Flower   Span   // days from sowing to the first open flower
	Seeds    Span   // of a hand-pollinated head or flower
	Isolate  string // how other pollen is kept away
	Hold     int    // plants, at least, that hold a variety without inbreeding
	Dry      int    // days that seed dries in paper before it is closed
	Sprout   Span   // days to the first and the final count of a germination test
	ComeUp   int    // days from sowing to counting the plants
	Handling string // anything else about it; may be empty

	Genus       string // crops of one genus may cross, where they have as many sets of chromosomes
	Sets        int    // of chromosomes: 2 diploid, 4 tetraploid
	Self        Selfing
	Emasculate  string // how own pollen is kept out of a cross; empty: it need not be
	Anthers     Anthers
	Distance    int    // metres to others of its kind where seed is saved open
	Temperature Span   // degrees Celsius, for germination
	Light       Light  // for germination
	Fresh       int    // percent of well-kept new seed that sprouts
	Life        int    // years for which seed kept dry and cool is worth sowing: by then half of those have died
	PerGram     int    // seeds
	Raise       Span   // weeks from sowing under cover to planting out
	PlantOut    int    // weeks after the last frost; below 0: before it
	PollenDry   int    // days that pollen dries before it is closed
	PollenLife  int    // days that dry pollen is good for, closed and in a refrigerator
	Caution     string // where the plant can hurt; may be empty
}

// Selfing says whether a plant sets seed to its own pollen.
type Selfing string

// How far a plant sets seed to its own pollen.
const (
	SelfFertile Selfing = "self-fertile"
	SelfPartly  Selfing = "partly"       // some do, or fewer seeds
	SelfSterile Selfing = "self-sterile" // hardly any
)

// Anthers says when own pollen is kept out.
type Anthers string

// When own pollen is kept out.
const (
	InBud     Anthers = "bud"  // anthers are taken out of the bud, which is then bagged
	AsItOpens Anthers = "open" // the head is bagged first, and its florets are taken out as they show
)

// Light is what seed wants for germinating.
type Light string

// What seed wants for germinating.
const (
	LightNeeded Light = "light" // is not covered
	LightNone   Light = "dark"  // is covered
	LightEither Light = "either"
)

// OwnPollen reports whether a plant's own pollen must be kept out of a cross.
func (c Crop) OwnPollen() bool { return c.Self != SelfSterile && c.Emasculate != "" }

// other is the crop of a line of which none was said.
const other = "other"

// Named returns the usual values of a crop, whatever the case of its name; an
// unknown or empty name gives those of "other", and false.
func Named(name string) (Crop, bool) {
	want := CropKey(name)
	all := Crops()
	if i := slices.IndexFunc(all, func(c Crop) bool { return c.Name == want }); i >= 0 {
		return all[i], true
	}
	return all[len(all)-1], false
}

// CropKey is a crop's name as it is kept: "Sweet pea" is sweet-pea.
func CropKey(typed string) string {
	return strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(typed, "-", " ")), "-"))
}

// CropNames are the names of all crops.
func CropNames() []string {
	var names []string
	for _, c := range Crops() {
		names = append(names, c.Name)
	}
	return names
}

// field is a value of a crop that the grower may change.
type field struct {
	name, unit, means string
	number            func(*Crop) *int
	span              func(*Crop) *Span
	text              func(*Crop) *string
	most              int      // the largest number that is believed
	below             int      // how far below 1 a number may be
	words             []string // the texts that are taken; nil: any
}

var fields = []field{
	{name: "opens", unit: "days", means: "from bagging the bud to its opening", span: func(c *Crop) *Span { return &c.Opens }, most: 60},
	{name: "first", unit: "days", means: "from opening to the first pollination", span: func(c *Crop) *Span { return &c.First }, most: 60},
	{name: "days", unit: "days", means: "in a row on which it is pollinated", number: func(c *Crop) *int { return &c.Days }, most: 30},
	{name: "ripe", unit: "days", means: "from the last pollination to ripe seed", span: func(c *Crop) *Span { return &c.Ripe }, most: 365},
	{name: "look", means: "what ripe looks like", text: func(c *Crop) *string { return &c.Look }},
	{name: "flower", unit: "days", means: "from sowing to the first open flower", span: func(c *Crop) *Span { return &c.Flower }, most: 2000},
	{name: "seeds", unit: "seeds", means: "of a hand-pollinated head", span: func(c *Crop) *Span { return &c.Seeds }, most: 100_000},
	{name: "isolate", means: "how other pollen is kept away", text: func(c *Crop) *string { return &c.Isolate }},
	{name: "hold", unit: "plants", means: "at least, to hold a variety without inbreeding", number: func(c *Crop) *int { return &c.Hold },
		most: 100_000},
	{name: "dry", unit: "days", means: "that seed dries before its packet is closed", number: func(c *Crop) *int { return &c.Dry }, most: 365},
	{name: "sprout", unit: "days", means: "to the first and the final count of a germination test",
		span: func(c *Crop) *Span { return &c.Sprout }, most: 365},
	{name: "come-up", unit: "days", means: "from sowing to counting the plants", number: func(c *Crop) *int { return &c.ComeUp }, most: 365},
	{name: "handling", means: "anything else about it", text: func(c *Crop) *string { return &c.Handling }},
	{name: "genus", means: "crops of one genus may cross", text: func(c *Crop) *string { return &c.Genus }},
	{name: "sets", unit: "sets", means: "of chromosomes: 2 diploid, 4 tetraploid, 0 not known",
		number: func(c *Crop) *int { return &c.Sets }, most: 16, below: 1},
	{name: "self", means: "whether it sets seed to its own pollen", text: func(c *Crop) *string { return (*string)(&c.Self) },
		words: []string{string(SelfFertile), string(SelfPartly), string(SelfSterile)}},
	{name: "emasculate", means: "how own pollen is kept out of a cross", text: func(c *Crop) *string { return &c.Emasculate }},
	{name: "anthers", means: "when own pollen is kept out: of the bud before it is bagged, or as the bagged head opens",
		text: func(c *Crop) *string { return (*string)(&c.Anthers) }, words: []string{string(InBud), string(AsItOpens)}},
	{name: "distance", unit: "m", means: "to others of its kind, where seed is saved open", number: func(c *Crop) *int { return &c.Distance },
		most: 20_000},
	{name: "temperature", unit: "°C", means: "for germination", span: func(c *Crop) *Span { return &c.Temperature }, most: 40},
	{name: "light", means: "for germination", text: func(c *Crop) *string { return (*string)(&c.Light) },
		words: []string{string(LightNeeded), string(LightNone), string(LightEither)}},
	{name: "fresh", unit: "%", means: "of well-kept new seed sprouts", number: func(c *Crop) *int { return &c.Fresh }, most: 99},
	{name: "life", unit: "years", means: "for which dry, cool seed is worth sowing", number: func(c *Crop) *int { return &c.Life }, most: 100},
	{name: "per-gram", unit: "seeds", means: "in a gram", number: func(c *Crop) *int { return &c.PerGram }, most: 200_000},
	{name: "raise", unit: "weeks", means: "from sowing under cover to planting out", span: func(c *Crop) *Span { return &c.Raise }, most: 60},
	{name: "plant-out", unit: "weeks", means: "after the last frost, or before it where below 0",
		number: func(c *Crop) *int { return &c.PlantOut }, below: 41, most: 40},
	{name: "pollen-dry", unit: "days", means: "that pollen dries before it is closed", number: func(c *Crop) *int { return &c.PollenDry },
		most: 30},
	{name: "pollen-life", unit: "days", means: "that dry pollen is good for, closed and in a refrigerator",
		number: func(c *Crop) *int { return &c.PollenLife }, most: 2000},
	{name: "caution", means: "where it can hurt", text: func(c *Crop) *string { return &c.Caution }},
}

// FieldNames are the names of the values that [Crop.With] changes.
func FieldNames() []string {
	var names []string
	for _, f := range fields {
		names = append(names, f.name)
	}
	return names
}

// fieldNamed is the value of that name.
func fieldNamed(name string) (f field, ok bool) {
	if i := slices.IndexFunc(fields, func(f field) bool { return f.name == name }); i >= 0 {
		return fields[i], true
	}
	return f, false
}

// Choices are the words that a value of a crop takes; nil: any, or no text.
func Choices(name string) []string {
	f, _ := fieldNamed(name)
	return f.words
}

// IsText reports whether a value of a crop is free text.
func IsText(name string) bool {
	f, _ := fieldNamed(name)
	return f.text != nil && f.words == nil
}

// Value is one value of a crop as it is shown.
type Value struct{ Field, Value, Unit, Means string }

// Values lists the crop's values in a fixed order.
func (c Crop) Values() []Value {
	var out []Value
	for _, f := range fields {
		v := Value{Field: f.name, Unit: f.unit, Means: f.means}
		switch {
		case f.number != nil:
			v.Value = strconv.Itoa(*f.number(&c))
		case f.span != nil:
			v.Value = f.span(&c).String()
		default:
			v.Value = *f.text(&c)
		}
		out = append(out, v)
	}
	return out
}

// mostText is how long a text of a crop may be, in bytes.
const mostText = 300

// With returns the crop with one of its values changed: a number such as 4, a
// span such as 28-42 (also 28..42, 28–42, or one number), or a text. The error
// says in one line which field is meant and what it takes.
func (c Crop) With(name, value string) (Crop, error) {
	f, ok := fieldNamed(strings.ToLower(strings.TrimSpace(name)))
	if !ok {
		return c, fmt.Errorf("%q is no value of a crop; want one of %s", name, strings.Join(FieldNames(), ", "))
	}
	value = strings.TrimSpace(value)
	switch {
	case f.text != nil:
		if len(value) > mostText || strings.ContainsFunc(value, func(r rune) bool { return r < ' ' || r == '\uFFFD' }) {
			return c, fmt.Errorf("%s: want one line of up to %d characters", f.name, mostText)
		}
		if f.words != nil {
			i := slices.IndexFunc(f.words, func(w string) bool { return strings.EqualFold(w, value) })
			if i < 0 {
				return c, fmt.Errorf("%s %q: want one of %s", f.name, value, strings.Join(f.words, ", "))
			}
			value = f.words[i]
		}
		*f.text(&c) = value
	case f.number != nil:
		n, err := strconv.Atoi(value)
		least := 1 - f.below
		if err != nil || n < least || n > f.most {
			return c, fmt.Errorf("%s %q: want a number of %s, %d to %d", f.name, value, f.unit, least, f.most)
		}
		*f.number(&c) = n
	default:
		s, ok := parseSpan(value)
		if !ok || s.High > f.most {
			return c, fmt.Errorf("%s %q: want %s from 0 to %d, such as 28-42", f.name, value, f.unit, f.most)
		}
		*f.span(&c) = s
	}
	return c, nil
}

func parseSpan(s string) (Span, bool) {
	low, high := s, s
	for _, sep := range []string{"..", "–", "-"} {
		if l, h, ok := strings.Cut(s, sep); ok {
			low, high = l, h
			break
		}
	}
	l, err1 := strconv.Atoi(strings.TrimSpace(low))
	h, err2 := strconv.Atoi(strings.TrimSpace(high))
	return Span{l, h}, err1 == nil && err2 == nil && l >= 0 && h >= l
}
