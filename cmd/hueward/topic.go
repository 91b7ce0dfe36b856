package main

import (
	"fmt"
	"strings"

	"hueward/report/guide"
)

// topicList lists the guide's topics, a line each.
func topicList() string {
	var b strings.Builder
	for _, t := range guide.Topics {
		fmt.Fprintf(&b, "  %-15s %s\n", t.Name, t.Title)
	}
	return strings.TrimRight(b.String(), "\n")
}

// tellTopic prints a text of the guide. Tables are told row by row, so that they fit any width.
func (a *app) tellTopic(t guide.Topic) {
	s := a.Stdout
	before := guide.Heading
	for i, b := range t.Blocks() {
		if i > 0 && (b.Kind != guide.Item || before != guide.Item) {
			fmt.Fprintln(s)
		}
		before = b.Kind
		switch b.Kind {
		case guide.Heading:
			fmt.Fprintln(s, s.Strong(b.Text))
		case guide.Paragraph:
			s.Say("", b.Text)
		case guide.Item:
			s.Say("  ", "- "+b.Text)
		case guide.Code:
			fmt.Fprintf(s, "    %s\n", strings.ReplaceAll(b.Text, "\n", "\n    "))
		case guide.Table:
			for _, row := range b.Cells {
				fmt.Fprintln(s, s.Strong(row[0]))
				s.Say("  ", "  "+strings.Join(row[1:], ": "))
			}
		}
	}
}
