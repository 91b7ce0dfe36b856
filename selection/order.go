package selection

import "hueward/selection/written"

// CompareIDs compares plant ids as [written.CompareIDs] does.
func CompareIDs(x, y string) int { return written.CompareIDs(x, y) }
