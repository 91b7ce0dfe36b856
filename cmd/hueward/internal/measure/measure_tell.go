package measure

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/report/words"
)

// teller prints outcomes one after the other, in order.
type teller interface {
	tell(outcome) error
	end() error // after the last; also when the work was stopped
}

func (m *measuring) newTeller() teller {
	switch {
	case m.o.out.JSON:
		return &jsonTeller{m.Stdout, arrayBegins}
	case m.o.out.CSV:
		w := csv.NewWriter(m.Stdout)
		w.Write(measureColumns) // flushed with the first row, or in the end
		return csvTeller{w}
	}
	return &peopleTeller{m: m, one: len(m.jobs) == 1, count: map[colorimg.Status]int{}, flags: map[colorimg.Flag][]string{}}
}

// tellerFunc is a teller that needs no end.
type tellerFunc func(outcome) error

func (f tellerFunc) tell(oc outcome) error { return f(oc) }
func (f tellerFunc) end() error            { return nil }

// jsonTeller writes one array, an object a line.
type jsonTeller struct {
	to     *terminal.Stream
	before string // what stands before the next object
}

func (t *jsonTeller) tell(oc outcome) error {
	r := *oc.reading
	r.Reason = hints.Photo.Reason(&r)
	b, err := json.Marshal(&r)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(t.to, "%s%s", t.before, b)
	t.before = ",\n"
	return err
}

func (t *jsonTeller) end() error {
	s := "\n]\n"
	if t.before == arrayBegins {
		s = "[]\n"
	}
	_, err := fmt.Fprint(t.to, s)
	return err
}

// arrayBegins is what stands before the first object.
const arrayBegins = "[\n"

// csvTeller writes one row a photo. A number that is not known is empty.
type csvTeller struct{ w *csv.Writer }

var measureColumns = []string{
	"file", "plant", "taken_at", "status", "L", "a", "b", "C", "h", "hex", "name",
	"se_precision", "se_trueness", "petal_share", "card_found", "cct", "ev", "flags", "reason", "sha256",
}

func (t csvTeller) tell(oc outcome) error {
	r := oc.reading
	row := map[string]string{
		"file": r.File, "status": string(r.Status), "hex": r.Hex, "name": r.Name, "reason": hints.Photo.Reason(r), "sha256": r.SHA256,
		"card_found": strconv.FormatBool(r.Card.Found), "flags": flagList(r.Flags),
	}
	if r.Plant != nil {
		row["plant"] = *r.Plant
	}
	if r.TakenAt != nil {
		row["taken_at"] = r.TakenAt.Format("2006-01-02T15:04:05")
	}
	if r.Lab != nil {
		row["L"], row["a"], row["b"] = words.Fixed(r.Lab[0], 2), words.Fixed(r.Lab[1], 2), words.Fixed(r.Lab[2], 2)
		row["se_precision"], row["se_trueness"] = words.Fixed(r.SE.Precision, 2), words.Fixed(r.SE.Trueness, 2)
		row["petal_share"] = words.Fixed(r.Petal.Share, 4)
	}
	if r.LCh != nil {
		row["C"], row["h"] = words.Fixed(r.LCh[1], 2), words.Fixed(r.LCh[2], 1)
	}
	if r.Card.Found {
		row["cct"], row["ev"] = words.Fixed(r.Card.CCT, 0), words.Fixed(r.Card.EV, 2)
	}
	cells := make([]string, len(measureColumns))
	for i, c := range measureColumns {
		cells[i] = row[c]
	}
	t.w.Write(cells)
	return t.end()
}

func (t csvTeller) end() error {
	t.w.Flush()
	return t.w.Error()
}

func flagList(flags []colorimg.Flag) string {
	return strings.Join(words.Each(flags, func(f colorimg.Flag) string { return string(f) }), " ")
}

// peopleTeller shows one photo in full, or several as a table.
type peopleTeller struct {
	m      *measuring
	one    bool
	rows   [][]string
	count  map[colorimg.Status]int
	flags  map[colorimg.Flag][]string // the photos that carry each
	order  []colorimg.Flag
	plants bool
}

func (t *peopleTeller) tell(oc outcome) error {
	r := oc.reading
	if oc.alone {
		return nil
	}
	if t.one {
		if r.Status != colorimg.Refused { // a refusal has been printed in full
			tellReading(t.m.Stdout, oc)
		}
		return nil
	}
	t.count[r.Status]++
	for _, f := range r.Flags {
		if t.flags[f] == nil {
			t.order = append(t.order, f)
		}
		t.flags[f] = append(t.flags[f], r.File)
	}
	row := []string{"", r.File, "", "", "", "", "", "", "", string(r.Status)}
	if r.Plant != nil {
		row[2], t.plants = terminal.Printable(*r.Plant), true
	}
	if r.Lab != nil {
		row[0], row[6], row[7], row[8] = r.Hex, r.Hex, r.Name, "± "+words.Fixed(r.SE.Precision, 1)
		row[3], row[4], row[5] = words.Fixed(r.Lab[0], 1), words.Fixed(r.Lab[1], 1), words.Fixed(r.Lab[2], 1)
		if len(r.Flags) > 0 {
			row[9] += ": " + strings.ReplaceAll(flagList(r.Flags), " ", ", ")
		}
	}
	t.rows = append(t.rows, row)
	return nil
}

func (t *peopleTeller) end() error {
	out := t.m.Stdout
	if len(t.rows) > 0 {
		out.Table([]terminal.Column{
			{Head: "", Swatch: true}, {Head: "photo", Words: true}, {Head: "plant", Out: !t.plants},
			{Head: "L*", Right: true}, {Head: "a*", Right: true}, {Head: "b*", Right: true},
			{Head: "hex"}, {Head: "name", Words: true, Wide: 100}, {Head: "Delta E", Right: true}, {Head: "status", Words: true},
		}, t.rows)
		if t.count[colorimg.Refused] < len(t.rows) {
			fmt.Fprintln(out)
			out.Say("", "Delta E: standard error of one photo when plants are compared.")
		}
	}
	for _, f := range t.order {
		what, todo := hints.Photo.OfFlag(f)
		who := words.Count(len(t.flags[f]), "photo")
		out.Say("  ", fmt.Sprintf("%s (%s): %s; %s", f, who, what, todo))
	}
	if len(t.rows) > 0 {
		ok, check, refused := t.count[colorimg.OK], t.count[colorimg.Check], t.count[colorimg.Refused]
		fmt.Fprintf(out, "\n%s measured: %d ok, %d to be checked", words.Count(ok+check, "photo"), ok, check)
		if refused > 0 {
			fmt.Fprintf(out, "; %d refused", refused)
		}
		fmt.Fprintln(out, ".")
	}
	if s := t.m.session.say(); s != "" {
		out.Say("", s)
	}
	if k := t.m.keeper; k != nil && !t.one {
		fmt.Fprintln(out, k.summary())
	}
	return nil
}
