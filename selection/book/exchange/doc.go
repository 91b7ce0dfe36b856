// Package exchange reads and writes tables as text: CSV as spreadsheets of any country write it, with columns of known
// types. It knows nothing of a book or of what its columns mean.
//
// Start with [NewTable] to read and [NewWriter] to write; [NewReader] is the CSV
// alone. Every mistake is an [*Error] with its line and column.
//
// It never guesses: a field that is not of its column's type is an error.
package exchange
