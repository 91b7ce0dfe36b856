package selection

import "hueward/colorimg/cie"

// Direction says in words how x differs from the target.
func Direction(x, target cie.Lab) string { panic("not yet") }
