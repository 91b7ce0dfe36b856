package tag

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The expected values are those of the package comment, read by hand.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		want Payload
		ok   bool
	}{
		{"HUEWARD:24:C-05", Payload{Plant: "C-05", MM: 24}, true},
		{"hueward:24:C-05", Payload{Plant: "C-05", MM: 24}, true},
		{"HUEWARD:17.5:C-05", Payload{Plant: "C-05", MM: 17.5}, true},
		{"HUEWARD:A5:C-05", Payload{Plant: "C-05", Sheet: "a5"}, true},
		{"HUEWARD:a5:", Payload{Sheet: "a5"}, true},
		{"HUEWARD:A5/30:C-05", Payload{Plant: "C-05", Sheet: "a5", MM: 30}, true},
		{"HUEWARD::C-05", Payload{Plant: "C-05"}, true},
		{"HUEWARD:24:", Payload{MM: 24}, true},
		{"HUEWARD:24:bed 3: Ringelblume, östlich", Payload{Plant: "bed 3: Ringelblume, östlich", MM: 24}, true},
		{"HUEWARD:24: C-05 ", Payload{Plant: " C-05 ", MM: 24}, true},
		{"HUEWARD:24:花:七", Payload{Plant: "花:七", MM: 24}, true},
		{"HUEWARD::", Payload{}, false},
		{"HUEWARD:24", Payload{}, false},
		{"HUEWARD:0:C-05", Payload{}, false},
		{"HUEWARD:-3:C-05", Payload{}, false},
		{"HUEWARD:1e2:C-05", Payload{}, false},
		{"HUEWARD:5000:C-05", Payload{}, false},
		{"HUEWARD:A5/:C-05", Payload{}, false},
		{"HUEWARD:24/A5:C-05", Payload{}, false},
		{"HUEWARD:24:\xff", Payload{}, false},

		{"C-05", Payload{Plant: "C-05"}, true},
		{" C-05\n", Payload{Plant: "C-05"}, true},
		{"Bed 3/12", Payload{Plant: "Bed 3/12"}, true},
		{"#7", Payload{}, false},
		{"20260007", Payload{Plant: "20260007"}, true},
		{"4006381333931", Payload{}, false}, // an EAN-13 number
		{"https://example.org/seeds", Payload{}, false},
		{"example.org/seeds", Payload{}, false},
		{"www.example", Payload{}, false},
		{"tel:+441632960000", Payload{}, false},
		{"WIFI:T:WPA;S:garden;P:x;;", Payload{}, false},
		{"BEGIN:VCARD", Payload{}, false},
		{"a label with a whole sentence on it", Payload{}, false},
		{"", Payload{}, false},
		{" ", Payload{}, false},
	} {
		got, ok := Parse(c.text)
		if ok != c.ok || got != c.want {
			t.Errorf("Parse(%q) = %+v, %v, want %+v, %v", c.text, got, ok, c.want, c.ok)
		}
	}
}

func TestPayloadString(t *testing.T) {
	for _, c := range []struct {
		p    Payload
		want string
	}{
		{Payload{Plant: "C-05", MM: 24}, "HUEWARD:24:C-05"},
		{Payload{Plant: "C-05", MM: 0.1 + 23.9 + 1e-12}, "HUEWARD:24:C-05"},
		{Payload{Plant: "C-05", MM: 20.0625}, "HUEWARD:20.063:C-05"},
		{Payload{Plant: "C-05", Sheet: "a5", MM: 30}, "HUEWARD:A5/30:C-05"},
		{Payload{Sheet: "a4"}, "HUEWARD:A4:"},
		{Payload{Plant: "C-05"}, "HUEWARD::C-05"},
	} {
		if got := c.p.String(); got != c.want {
			t.Errorf("%+v.String() = %q, want %q", c.p, got, c.want)
		}
	}
}

// What is printed says the same when it is read, whatever the plant is called.
func TestPayloadRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Payload{
			Plant: rapid.String().Draw(t, "plant"),
			MM:    float64(rapid.IntRange(1000, 1000000).Draw(t, "um")) / 1000,
			Sheet: rapid.SampledFrom([]string{"", "a4", "a5", "letter-2"}).Draw(t, "sheet"),
		}
		if rapid.Bool().Draw(t, "no width") {
			p.MM = 0
		}
		if p == (Payload{}) {
			return
		}
		got, ok := Parse(p.String())
		if diff := cmp.Diff(p, got); !ok || diff != "" {
			t.Fatalf("Parse(%q): %v, (-want +got)\n%s", p.String(), ok, diff)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"HUEWARD:24:C-05", "hueward:a5/30.25:x:y", "HUEWARD:A4:", "HUEWARD::", "C-05", "https://example.org",
		"HUEWARD:24:\xff", "ſHUEWARD:1:K"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, ok := Parse(s)
		if !ok {
			if p != (Payload{}) {
				t.Fatalf("Parse(%q) = %+v without ok", s, p)
			}
			return
		}
		again, ok := Parse(p.String())
		if !ok || again != p {
			t.Fatalf("Parse(%q) = %+v, printed %q, read %+v, %v", s, p, p.String(), again, ok)
		}
		if strings.Contains(p.Plant, "://") && !strings.EqualFold(s[:len(prefix)], prefix) {
			t.Fatalf("Parse(%q) takes a web address for a plant", s)
		}
	})
}

// A label's code comes back as it was made, and never names a plant.
func TestLabel(t *testing.T) {
	for _, l := range []Label{{OnHead, "M-07-1"}, {OnPacket, "P26-003S"}, {OnHead, "Ж:1 x"}} {
		for _, text := range []string{l.String(), strings.ToLower(prefix+l.On) + ":" + l.Name} {
			if got, ok := ParseLabel(text); !ok || got != l {
				t.Errorf("ParseLabel(%q) = %v, %v", text, got, ok)
			}
			if p, ok := Parse(text); ok {
				t.Errorf("Parse(%q) = %+v: a label is no plant's", text, p)
			}
		}
	}
	for _, text := range []string{"", "M-07-1", "HUEWARD:24:M-07", "HUEWARD:H:", "HUEWARD:HP:M-07-1", "HUEWARD:P"} {
		if l, ok := ParseLabel(text); ok {
			t.Errorf("ParseLabel(%q) = %v", text, l)
		}
	}
}
