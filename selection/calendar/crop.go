package calendar

import (
	"fmt"
	"reflect"
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

// Crop is what is usual of a kind of flower. All of it differs with variety, climate and weather: the grower's own
// values, see [Crop.With], come first. Each field's name to a grower, unit, largest number and meaning stand beside it.
type Crop struct {
	Name     string // in one word
	Title    string
	Opens    Span   `name:"opens" unit:"days" most:"60" means:"from bagging the bud to its opening"`
	First    Span   `name:"first" unit:"days" most:"60" means:"from opening to the first pollination"`
	Days     int    `name:"days" unit:"days" most:"30" means:"in a row on which it is pollinated"`
	Ripe     Span   `name:"ripe" unit:"days" most:"365" means:"from the last pollination to ripe seed"`
	Look     string `name:"look" means:"what ripe looks like"`
	Flower   Span   `name:"flower" unit:"days" most:"2000" means:"from sowing to the first open flower"`
	Seeds    Span   `name:"seeds" unit:"seeds" most:"100000" means:"of a hand-pollinated head"`
	Isolate  string `name:"isolate" means:"how other pollen is kept away"`
	Hold     int    `name:"hold" unit:"plants" most:"100000" means:"at least, to hold a variety without inbreeding"`
	Dry      int    `name:"dry" unit:"days" most:"365" means:"that seed dries before its packet is closed"`
	Sprout   Span   `name:"sprout" unit:"days" most:"365" means:"to the first and the final count of a germination test"`
	ComeUp   int    `name:"come-up" unit:"days" most:"365" means:"from sowing to counting the plants"`
	Handling string `name:"handling" means:"anything else about it"`

	// Crops of one genus may cross, where they have as many sets of chromosomes.
	Genus       string  `name:"genus" means:"crops of one genus may cross"`
	Sets        int     `name:"sets" unit:"sets" most:"16" below:"1" means:"of chromosomes: 2 diploid, 4 tetraploid, 0 not known"`
	Self        Selfing `name:"self" means:"whether it sets seed to its own pollen"`
	Emasculate  string  `name:"emasculate" means:"how own pollen is kept out of a cross"`
	Anthers     Anthers `name:"anthers" means:"when own pollen is kept out: of the bud before it is bagged, or as the bagged head opens"`
	Distance    int     `name:"distance" unit:"m" most:"20000" means:"to others of its kind, where seed is saved open"`
	Temperature Span    `name:"temperature" unit:"°C" most:"40" means:"for germination"`
	Light       Light   `name:"light" means:"for germination"`
	Fresh       int     `name:"fresh" unit:"%" most:"99" means:"of well-kept new seed sprouts"`
	// At the end of its life half of the seed that was alive has died.
	Life       int    `name:"life" unit:"years" most:"100" means:"for which dry, cool seed is worth sowing"`
	PerGram    int    `name:"per-gram" unit:"seeds" most:"200000" means:"in a gram"`
	Raise      Span   `name:"raise" unit:"weeks" most:"60" means:"from sowing under cover to planting out"`
	PlantOut   int    `name:"plant-out" unit:"weeks" most:"40" below:"41" means:"after the last frost, or before it where below 0"`
	PollenDry  int    `name:"pollen-dry" unit:"days" most:"30" means:"that pollen dries before it is closed"`
	PollenLife int    `name:"pollen-life" unit:"days" most:"2000" means:"that dry pollen is good for, closed and in a refrigerator"`
	Caution    string `name:"caution" means:"where it can hurt"`
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

// field is a value of a crop that the grower may change: a number, a [Span] or a text.
type field struct {
	name, unit, means string
	at                int          // among the fields of Crop
	kind              reflect.Kind // Int, Struct or String
	most              int          // the largest number that is believed
	below             int          // how far below 1 a number may be
	words             []string     // the texts that are taken; nil: any
}

// choices are the texts of a type that takes no others.
var choices = map[reflect.Type][]string{
	reflect.TypeFor[Selfing](): {string(SelfFertile), string(SelfPartly), string(SelfSterile)},
	reflect.TypeFor[Anthers](): {string(InBud), string(AsItOpens)},
	reflect.TypeFor[Light]():   {string(LightNeeded), string(LightNone), string(LightEither)},
}

// fields are those of Crop that have a name to be changed by, in order.
var fields = func() (out []field) {
	for i, f := range reflect.VisibleFields(reflect.TypeFor[Crop]()) {
		if name := f.Tag.Get("name"); name != "" {
			most, _ := strconv.Atoi(f.Tag.Get("most"))
			below, _ := strconv.Atoi(f.Tag.Get("below"))
			out = append(out, field{name, f.Tag.Get("unit"), f.Tag.Get("means"), i, f.Type.Kind(), most, below, choices[f.Type]})
		}
	}
	return out
}()

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
	return f.kind == reflect.String && f.words == nil
}

// Value is one value of a crop as it is shown.
type Value struct{ Field, Value, Unit, Means string }

// Values lists the crop's values in a fixed order.
func (c Crop) Values() []Value {
	var out []Value
	for _, f := range fields {
		out = append(out, Value{f.name, fmt.Sprint(reflect.ValueOf(c).Field(f.at)), f.unit, f.means})
	}
	return out
}

// mostText is how long a text of a crop may be, in bytes.
const mostText = 300

// With returns the crop with one of its values changed: a number such as 4, a span such as 28-42 (also 28..42, 28–42,
// or one number), or a text. The error says in one line which field is meant and what it takes.
func (c Crop) With(name, value string) (Crop, error) {
	f, ok := fieldNamed(strings.ToLower(strings.TrimSpace(name)))
	if !ok {
		return c, fmt.Errorf("%q is not a value of a crop; want one of %s", name, strings.Join(FieldNames(), ", "))
	}
	value = strings.TrimSpace(value)
	to := reflect.ValueOf(&c).Elem().Field(f.at)
	switch f.kind {
	case reflect.String:
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
		to.SetString(value)
	case reflect.Int:
		n, err := strconv.Atoi(value)
		least := 1 - f.below
		if err != nil || n < least || n > f.most {
			return c, fmt.Errorf("%s %q: want a number of %s, %d to %d", f.name, value, f.unit, least, f.most)
		}
		to.SetInt(int64(n))
	default:
		s, ok := parseSpan(value)
		if !ok || s.High > f.most {
			return c, fmt.Errorf("%s %q: want %s from 0 to %d, such as 28-42", f.name, value, f.unit, f.most)
		}
		to.Set(reflect.ValueOf(s))
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
