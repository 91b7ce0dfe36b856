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
	Sprout   Span   // days after which a germination test is looked at, and is over
	ComeUp   int    // days from sowing to counting the plants
	Handling string // what else is peculiar to it; may be empty
}

// Crops are the usual values. Common practice, no source: they were not taken
// from a trial, and a year's weather moves all of them.
var Crops = []Crop{
	{Name: "zinnia", Title: "zinnia", Opens: Span{2, 4}, First: Span{1, 3}, Days: 4, Ripe: Span{28, 42},
		Look: "the head is brown and dry, and its seeds come loose when it is rubbed", Flower: Span{55, 75}, Seeds: Span{20, 80},
		Isolate: "a bag of fine cloth over each head, or 400 m from other zinnias", Hold: 40, Dry: 10, Sprout: Span{5, 10}, ComeUp: 14,
		Handling: "ray florets open from outside in: pollinate each ring as its stigmas show"},
	{Name: "calendula", Title: "pot marigold (Calendula)", Opens: Span{2, 4}, First: Span{1, 2}, Days: 4, Ripe: Span{21, 35},
		Look: "the outer seeds are tan and curled, and drop at a touch", Flower: Span{45, 65}, Seeds: Span{12, 50},
		Isolate: "a bag of fine cloth over each head, or 400 m from other pot marigolds", Hold: 40, Dry: 7, Sprout: Span{6, 12}, ComeUp: 14,
		Handling: "only the ray florets bear seed"},
	{Name: "tagetes", Title: "French or African marigold (Tagetes)", Opens: Span{2, 4}, First: Span{1, 2}, Days: 3, Ripe: Span{28, 42},
		Look: "the cup is brown and dry, and its dark seeds pull out by their pale tufts", Flower: Span{45, 75}, Seeds: Span{20, 80},
		Isolate: "a bag of fine cloth over each head, or 400 m from other Tagetes", Hold: 30, Dry: 7, Sprout: Span{4, 8}, ComeUp: 12},
	{Name: "cosmos", Title: "cosmos", Opens: Span{2, 4}, First: Span{1, 2}, Days: 3, Ripe: Span{21, 30},
		Look: "the seeds are dark, hard, and stand apart like a star", Flower: Span{50, 75}, Seeds: Span{10, 40},
		Isolate: "a bag of fine cloth over each head, or 400 m from other cosmos", Hold: 50, Dry: 7, Sprout: Span{5, 10}, ComeUp: 14,
		Handling: "a plant sets little seed by its own pollen"},
	{Name: "dahlia", Title: "dahlia", Opens: Span{3, 6}, First: Span{2, 5}, Days: 4, Ripe: Span{35, 55},
		Look: "the bracts are brown and papery, and the squeezed head gives no water", Flower: Span{80, 120}, Seeds: Span{5, 60},
		Isolate: "a bag of fine cloth over each head", Hold: 20, Dry: 14, Sprout: Span{7, 14}, ComeUp: 21,
		Handling: "a plant sets hardly any seed by its own pollen; its tubers keep the plant itself"},
	{Name: "sweet-pea", Title: "sweet pea", Opens: Span{2, 3}, First: Span{0, 1}, Days: 2, Ripe: Span{40, 60},
		Look: "the pods are pale brown and dry: pick before they twist open", Flower: Span{80, 120}, Seeds: Span{3, 9},
		Isolate: "it pollinates itself in the closed bud; a bag keeps off the few bees that force it", Hold: 12, Dry: 10, Sprout: Span{8, 16},
		ComeUp:   21,
		Handling: "for a cross take the anthers out of the bud while they are green; the seeds are poisonous"},
	{Name: "snapdragon", Title: "snapdragon", Opens: Span{1, 3}, First: Span{1, 2}, Days: 3, Ripe: Span{40, 60},
		Look: "the capsule is brown and its pores have opened", Flower: Span{80, 120}, Seeds: Span{50, 300},
		Isolate: "a bag of fine cloth over the spike, or 400 m from other snapdragons", Hold: 30, Dry: 10, Sprout: Span{7, 14}, ComeUp: 21,
		Handling: "for a cross take the anthers out of the bud before it opens"},
	{Name: other, Title: "any other flower", Opens: Span{2, 4}, First: Span{1, 3}, Days: 3, Ripe: Span{28, 45},
		Look: "the seed is hard and parts from the head", Flower: Span{60, 90}, Seeds: Span{10, 60},
		Isolate: "a bag of fine cloth over each flower", Hold: 40, Dry: 10, Sprout: Span{7, 14}, ComeUp: 18},
}

// other is the crop of a line of which none was said.
const other = "other"

// Named returns the usual values of a crop, whatever the case of its name; an
// unknown or empty name gives those of "other", and false.
func Named(name string) (Crop, bool) {
	want := strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(name, "-", " ")), "-"))
	for _, c := range Crops {
		if c.Name == want {
			return c, true
		}
	}
	return Crops[len(Crops)-1], false
}

// CropNames are the names of all crops.
func CropNames() []string {
	names := make([]string, len(Crops))
	for i, c := range Crops {
		names[i] = c.Name
	}
	return names
}

// field is a value of a crop that the grower may change.
type field struct {
	name, unit, means string
	number            func(*Crop) *int
	span              func(*Crop) *Span
	text              func(*Crop) *string
	most              int // the largest number that is believed
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
	{name: "sprout", unit: "days", means: "after which a germination test is looked at, and over",
		span: func(c *Crop) *Span { return &c.Sprout }, most: 365},
	{name: "come-up", unit: "days", means: "from sowing to counting the plants", number: func(c *Crop) *int { return &c.ComeUp }, most: 365},
	{name: "handling", means: "what else is peculiar to it", text: func(c *Crop) *string { return &c.Handling }},
}

// FieldNames are the names of the values that [Crop.With] changes.
func FieldNames() []string {
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	return names
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
	i := slices.IndexFunc(fields, func(f field) bool { return f.name == strings.ToLower(strings.TrimSpace(name)) })
	if i < 0 {
		return c, fmt.Errorf("%q is no value of a crop; want one of %s", name, strings.Join(FieldNames(), ", "))
	}
	f := fields[i]
	value = strings.TrimSpace(value)
	switch {
	case f.text != nil:
		if len(value) > mostText || strings.ContainsFunc(value, func(r rune) bool { return r < ' ' || r == '\uFFFD' }) {
			return c, fmt.Errorf("%s: want one line of up to %d characters", f.name, mostText)
		}
		*f.text(&c) = value
	case f.number != nil:
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 || n > f.most {
			return c, fmt.Errorf("%s %q: want a number of %s, 1 to %d", f.name, value, f.unit, f.most)
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
