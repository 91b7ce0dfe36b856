package intake

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/naming"
)

// Alike returns for names the plants of the book that are easily confused with them, such as M-06 for m06 (see
// [naming.Alike]). A plant that is itself among the names is returned only where there is no other.
func Alike(ctx context.Context, b *book.Book, names []string) (map[string]string, error) {
	want := map[string][]string{} // by likeness
	among := map[string]bool{}
	for _, n := range names {
		want[naming.Alike(n)] = append(want[naming.Alike(n)], n)
		among[naming.Key(n)] = true
	}
	all, err := b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, p := range all {
		name := p.ID
		for _, n := range want[naming.Alike(name)] {
			old := out[n]
			if naming.Key(n) != naming.Key(name) && (old == "" || among[naming.Key(old)] && !among[naming.Key(name)]) {
				out[n] = name
			}
		}
	}
	return out, nil
}

// NewPlants returns a message about plants that were added although nobody asked for it, such as "2 new
// plants: M-99, m06; did you mean M-06?"; empty without names.
func NewPlants(ctx context.Context, b *book.Book, names []string) (string, error) {
	if len(names) == 0 {
		return "", nil
	}
	alike, err := Alike(ctx, b, names)
	if err != nil {
		return "", err
	}
	what := "new plant"
	if len(names) > 1 {
		what = fmt.Sprintf("%d new plants", len(names))
	}
	return what + ": " + few(names) + DidYouMean(names, alike), nil
}

// few returns the names as a list; of more than twelve, the first six and the last.
func few(names []string) string {
	if n := len(names); n > 12 {
		return strings.Join(names[:6], ", ") + " … " + names[n-1]
	}
	return strings.Join(names, ", ")
}

// DidYouMean returns a question whether other plants were meant, for names that are easily confused with them;
// alike is from [Alike]. Of two new plants that are alike, it asks for the later one. Empty: nothing to ask.
func DidYouMean(names []string, alike map[string]string) string {
	var asked []string
	seen := map[string]bool{}
	for _, n := range slices.Backward(names) {
		other := alike[n]
		if other == "" || seen[naming.Key(other)+" "+naming.Key(n)] {
			continue
		}
		seen[naming.Key(n)+" "+naming.Key(other)] = true
		asked = append(asked, other+" ("+n+")")
	}
	slices.Reverse(asked)
	switch {
	case len(asked) == 0:
		return ""
	case len(asked) == 1:
		asked[0], _, _ = strings.Cut(asked[0], " (")
	case len(asked) > 6:
		asked = append(asked[:6], fmt.Sprintf("… (%d in all)", len(asked)))
	}
	return "; did you mean " + strings.Join(asked, ", ") + "?"
}
