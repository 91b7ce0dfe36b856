// Package written reads days and numbers as people write them: 12.7.2026, "2 days ago", 3,5. It does not guess: what
// can be read in two ways is refused, with both readings named. It also sorts plant ids as people do, and writes ordinals
// and lists in words.
//
// Start with [Days.Parse], [Number] and [CompareIDs]. Commands, tables and the page use it.
package written
