package enter

import (
	"context"

	"hueward/report/mending"
	"hueward/selection/book"
)

// MendPlant puts right what was entered of a plant: its name, its line, or that it is another plant; or takes it out.
func MendPlant(ctx context.Context, b *book.Book, id string, f *Form) (*mending.Done, error) {
	switch f.Text("do") {
	case "rename":
		return mending.Rename(ctx, b, id, f.Text("to"))
	case "merge":
		return mending.Merge(ctx, b, id, f.Text("into"))
	case "move":
		return mending.Move(ctx, b, f.Text("line"), id)
	case "remove":
		name, err := b.Remove(ctx, "plant", id)
		return &mending.Done{Text: name + " is taken out of the book"}, err
	}
	return nil, Wrongf("Say what is to be put right.")
}

// MendLine gives a line another name, or plants, of which ranges may be named, to a line.
func MendLine(ctx context.Context, b *book.Book, f *Form) (*mending.Done, error) {
	if f.Text("do") != "move" {
		return mending.RenameLine(ctx, b, f.Text("line"), f.Text("to"))
	}
	plants := Names(f.Values.Get("plants"))
	if len(plants) == 0 {
		return nil, Wrongf("Name the plants, such as M-01 M-02 or M-01..M-09.")
	}
	return mending.Move(ctx, b, f.Text("line"), plants...)
}
