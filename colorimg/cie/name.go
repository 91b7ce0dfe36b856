package cie

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
	"sync"
)

//go:embed iscc_nbs.txt
var isccNBS string

// centroid is the middle of one of the ISCC-NBS blocks.
type centroid struct {
	lab       Lab
	hex, name string
}

// centroids are in the order of their ISCC-NBS numbers.
var centroids = sync.OnceValue(func() []centroid {
	var list []centroid
	for line := range strings.Lines(isccNBS) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		f := strings.Split(line, "\t")
		if len(f) != 3 {
			panic(fmt.Sprintf("cie: iscc_nbs.txt: line %q", line)) // embedded, and tested
		}
		lab, err := ParseHex(f[1])
		if err != nil {
			panic("cie: iscc_nbs.txt: " + err.Error())
		}
		list = append(list, centroid{lab, f[1], f[2]})
	}
	return list
})

// Name returns the plain-language name of c, such as "light orange yellow": of the 267 names of the ISCC-NBS method,
// the one whose centroid is nearest by [DeltaE2000], spelt as the method spells it (gray), in lower case. It is empty
// when c is not finite.
//
// The method itself draws block boundaries in Munsell notation; near a boundary
// the nearest centroid may be the neighbour's.
//
// Source: NBS Circular 553 (1955), NBS Special Publication 440 (1976); the table's origin is given at the head of
// iscc_nbs.txt. TestNameCentroids checks all 267.
func Name(c Lab) string {
	list, name, close, first := centroids(), "", math.Inf(1), 0
	for i, k := range list {
		l, a, b := c.L-k.lab.L, c.A-k.lab.A, c.B-k.lab.B
		if d := l*l + a*a + b*b; d < close {
			first, close = i, d
		}
	}
	least := math.Nextafter(DeltaE2000(c, list[first].lab), math.Inf(1))
	for i := range list {
		k := &list[i]
		if math.Abs(c.L-k.lab.L) > 1.75*least { // the weight of lightness is 1.747 at most
			continue
		}
		if d := DeltaE2000(c, k.lab); d < least {
			name, least = k.name, d
		}
	}
	return name
}

// Names returns all names that [Name] can return, in the order of their ISCC-NBS numbers.
func Names() []string {
	var names []string
	for _, k := range centroids() {
		names = append(names, k.name)
	}
	return names
}

// Named returns the centroid of the block of a name, in any case; ok is false where there is none.
func Named(name string) (c Lab, ok bool) {
	name = strings.Join(strings.Fields(strings.ToLower(name)), " ")
	for _, k := range centroids() {
		if k.name == name {
			return k.lab, true
		}
	}
	return Lab{}, false
}
