package enter

import (
	"context"
	"strings"

	"hueward/report/mending"
	"hueward/selection/book"
)

// Mended is what was put right, as sentences, and the plant that it is about; empty: none.
type Mended struct{ Said, Plant string }

func mended(d *mending.Done, err error) (Mended, error) {
	if err != nil {
		return Mended{}, err
	}
	out := Mended{join(d.Text), d.Plant}
	if len(d.Odd) > 0 {
		out.Said = join(d.Text, "the two did not agree; what counts now: "+strings.Join(d.Odd, "; "))
	}
	return out, nil
}

// MendPlant puts right what was entered of a plant: its name, its line, or that it is another
// plant; or takes it out.
func MendPlant(ctx context.Context, b *book.Book, id string, f *Form) (Mended, error) {
	switch f.Text("do") {
	case "rename":
		return mended(mending.Rename(ctx, b, id, f.Text("to")))
	case "merge":
		return mended(mending.Merge(ctx, b, id, f.Text("into")))
	case "move":
		return mended(mending.Move(ctx, b, f.Text("line"), id))
	case "remove":
		name, err := b.Remove(ctx, "plant", id)
		return mended(&mending.Done{Text: name + " is taken out of the book"}, err)
	}
	return Mended{}, Wrongf("Say what is to be put right.")
}

// MendLine gives a line another name, or plants, of which ranges may be named, to a line.
func MendLine(ctx context.Context, b *book.Book, f *Form) (Mended, error) {
	if f.Text("do") != "move" {
		return mended(mending.RenameLine(ctx, b, f.Text("line"), f.Text("to")))
	}
	plants := Names(f.Values.Get("plants"))
	if len(plants) == 0 {
		return Mended{}, Wrongf("Name the plants, such as M-01 M-02 or M-01..M-09.")
	}
	return mended(mending.Move(ctx, b, f.Text("line"), plants...))
}
