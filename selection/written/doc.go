// Package written reads days and numbers as people write them: 12.7.2026, "2 days ago", 3,5. It guesses nothing: what
// can be read in two ways is refused, with both named. And it writes places and lists in words.
//
// Start with [Days.Parse] and [Number]. Commands, tables and the page share it.
package written
