package hints

import (
	"fmt"

	"hueward/selection/book/remedy"
)

// steps are the command line's words for what mends something, behind the neutral ones.
var steps = map[remedy.Code]string{
	remedy.NewBook:      " with: hueward new DIR",
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
	remedy.SayTrait:     ": hueward score trait %q",
	remedy.Replace:      ": --force",
	remedy.Update:       ": --update",
	remedy.Ignore:       ": --ignore %q",
	remedy.TraitOrNot:   ": hueward score trait %q, or --ignore %q",
	remedy.SayTable:     ": --as %v",
	remedy.ForgetCamera: ": hueward camera --forget",
}

// Step are the words for one step; empty for one that has none.
func Step(r remedy.Remedy) string {
	if s := steps[r.Code]; s != "" {
		return fmt.Sprintf(s, r.Values...)
	}
	return ""
}

// Line is an error of the book with the words for what mends it.
func Line(err error) string {
	r, _ := remedy.Of(err)
	return err.Error() + Step(r)
}
