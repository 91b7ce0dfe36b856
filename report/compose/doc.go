// Package compose fills in what a season's report and the page show of a line: it turns the decisions of package
// selection into the words, colours and pictures of package report. Start with [Season], then [Pictures] and [Ahead].
package compose
