// Package compose fills in what a season's report and the page show of a line: the decisions of [hueward/selection],
// put into the words, colours and pictures of [hueward/report].
package compose
