package tag

import "strings"

// What a label is on, beside plants.
const (
	OnHead   = "H"
	OnPacket = "P"
)

// Label is what the code of a head's or a packet's label says. It names no plant:
// a photo in which one lies is not that plant's for it.
type Label struct {
	On   string // OnHead or OnPacket
	Name string // as in the book
}

// String returns the text to print in the code.
func (l Label) String() string { return prefix + l.On + ":" + l.Name }

// ParseLabel returns what the text of a label's code says; false: it is none.
func ParseLabel(text string) (Label, bool) {
	on, name, ok := own(text)
	on = strings.ToUpper(on)
	if !ok || name == "" || on != OnHead && on != OnPacket {
		return Label{}, false
	}
	return Label{on, name}, true
}
