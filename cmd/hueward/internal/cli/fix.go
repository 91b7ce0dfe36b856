package cli

import (
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

// CountFlag is the count that a flag was given; nil when it was not.
func CountFlag(cmd *cobra.Command, flag string, n int) *int {
	if !cmd.Flags().Changed(flag) {
		return nil
	}
	return &n
}

// TextFix is a corrected text: nil when the flag was not given, empty for none.
func TextFix(cmd *cobra.Command, flag, s string) *string {
	if !cmd.Flags().Changed(flag) {
		return nil
	}
	if strings.EqualFold(strings.TrimSpace(s), "none") {
		s = ""
	}
	return &s
}

// DayFix is a corrected day: nil when the flag was not given, zero for none.
func (a *App) DayFix(cmd *cobra.Command, flag, s string) (*time.Time, error) {
	t := TextFix(cmd, flag, s)
	switch {
	case t == nil:
		return nil, nil
	case *t == "":
		return &time.Time{}, nil
	}
	d, err := a.Day(flag, *t)
	return &d, err
}

// CountFix is a corrected count: nil when the flag was not given, -1 for none.
func CountFix(cmd *cobra.Command, flag, s string) (*int, error) {
	t := TextFix(cmd, flag, s)
	switch {
	case t == nil:
		return nil, nil
	case *t == "":
		none := -1
		return &none, nil
	}
	n, err := strconv.Atoi(*t)
	if err != nil || n < 0 {
		return nil, Usagef("--%s %q: want a number, or none", flag, s)
	}
	return &n, nil
}
