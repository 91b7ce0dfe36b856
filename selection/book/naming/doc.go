// Package naming holds the rules of names in a breeding book: what a plant, line or season may be called, how the book
// makes names of its own, how a file name becomes safe on every system, and which plant a photo's own name speaks of.
//
// Start with [CleanID]. Names are compared by [Key], whatever their case.
package naming
