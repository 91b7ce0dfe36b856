package main

import (
	"fmt"
	"strings"

	"charm.land/lipgloss/v2"
	"charm.land/lipgloss/v2/table"
)

// column is one column of a table for people.
type column struct {
	head   string
	right  bool // numbers
	swatch bool // cells are "#rrggbb", shown as colour, or left out
	wide   int  // shown only in a terminal at least so wide, or in a pipe; 0: always
}

// table prints rows under their columns' heads. Cells stay on one line in a
// pipe; in a terminal long ones are wrapped to fit.
func (s *stream) table(columns []column, rows [][]string) {
	var shown []int
	for i, c := range columns {
		if c.swatch && !s.swatches || s.terminal && c.wide > s.width {
			continue
		}
		shown = append(shown, i)
	}
	t := table.New().Border(lipgloss.NormalBorder()).
		BorderTop(false).BorderBottom(false).BorderLeft(false).BorderRight(false).BorderColumn(false).
		StyleFunc(func(row, col int) lipgloss.Style {
			st := lipgloss.NewStyle().PaddingRight(2)
			if col == len(shown)-1 {
				st = st.PaddingRight(0)
			}
			if columns[shown[col]].right {
				st = st.Align(lipgloss.Right)
			}
			if row == table.HeaderRow && s.terminal {
				st = st.Bold(true)
			}
			return st
		})
	var heads []string
	for _, i := range shown {
		heads = append(heads, columns[i].head)
	}
	t.Headers(heads...)
	for _, r := range rows {
		var cells []string
		for _, i := range shown {
			cell := r[i]
			if columns[i].swatch {
				cell = s.swatch(cell, 4)
			}
			cells = append(cells, cell)
		}
		t.Row(cells...)
	}
	if out := t.Render(); s.terminal && lipgloss.Width(out) > s.width {
		t.Width(s.width).Wrap(true)
	}
	for line := range strings.Lines(t.Render()) {
		fmt.Fprintln(s, strings.TrimRight(line, " \n"))
	}
}
