package hints

import (
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/remedy"
	"hueward/selection/garden"
)

// steps are the command line's words for what mends something, behind the neutral ones.
var steps = map[remedy.Code]string{
	remedy.NewBook:      " with: hueward new DIR",
	remedy.SetTarget:    ": hueward target %v --lab L,a,b",
	remedy.NamePlants:   " with --among",
	remedy.SayBetter:    ": hueward score trait %q --better more",
	remedy.Restore:      ": hueward backup restore",
	remedy.BackUp:       ": hueward backup",
	remedy.Check:        ": hueward check",
	remedy.History:      ": hueward history",
	remedy.SayLine:      ": --line NAME",
	remedy.SaySeeds:     ": --seeds N",
	remedy.StartTest:    " with --seeds N",
	remedy.FixHead:      " with: hueward head %v fix",
	remedy.SayCross:     ": hueward head %v fix --cross X…",
	remedy.Harvest:      ": hueward head %v harvest",
	remedy.FixCross:     ": hueward cross fix",
	remedy.FixParents:   ": hueward plants parents %v …",
	remedy.FixPhotos:    ": hueward photos --plant %v",
	remedy.SayTrait:     ": hueward score trait %q",
	remedy.Replace:      ": --force",
	remedy.Update:       ": --update",
	remedy.Ignore:       ": --ignore %q",
	remedy.TraitOrNot:   ": hueward score trait %q, or --ignore %q",
	remedy.SayTable:     ": --as %v",
	remedy.MergePlants:  ": hueward plants merge %v %v",
	remedy.ForgetCamera: ": hueward camera --forget",
}

// Step are the words for one step; empty for one that has none.
func Step(r remedy.Remedy) string {
	if s := steps[r.Code]; s != "" {
		return fmt.Sprintf(s, r.Values...)
	}
	return ""
}

// Line is an error of the book or garden with the words for what mends it, and the flag that a trait was given with.
func Line(err error) string {
	r, _ := remedy.Of(err)
	line := err.Error() + Step(r)
	if trait := (*garden.TraitError)(nil); errors.As(err, &trait) {
		flag := "--must "
		if trait.Weigh {
			flag = "--weigh "
		}
		line = strings.Replace(line, trait.Error(), flag+trait.Error(), 1)
	}
	return line
}
