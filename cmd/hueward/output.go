package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode"

	"hueward/report/compose"

	"github.com/spf13/cobra"
)

// output is how a listing is printed: for people, or for programs.
type output struct {
	json, csv bool
}

func (o *output) AddFlags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.json, "json", false, "print JSON")
	cmd.Flags().BoolVar(&o.csv, "csv", false, "print CSV")
	exclusive(cmd, "json", "csv")
}

// exclusive lets at most one of the flags be given.
func exclusive(cmd *cobra.Command, names ...string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		if before != nil {
			if err := before(cmd, args); err != nil {
				return err
			}
		}
		var given []string
		for _, n := range names {
			if cmd.Flags().Changed(n) {
				given = append(given, "--"+n)
			}
		}
		if len(given) > 1 {
			return fmt.Errorf("%s do not go together; give one of them", strings.Join(given, " and "))
		}
		return nil
	}
}

// people reports whether the listing is for people.
func (o *output) people() bool { return !o.json && !o.csv }

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

func writeCSV(w io.Writer, head []string, rows [][]string) error {
	c := csv.NewWriter(w)
	if err := c.Write(head); err != nil {
		return err
	}
	return c.WriteAll(rows)
}

// fixed is v with the given decimals, with a point whatever the country.
func fixed(v float64, decimals int) string { return compose.Fixed(v, decimals) }

// chance says a probability without claiming certainty.
func chance(p float64) string { return compose.Chance(p) }

// printable is s without what could move a terminal's cursor: a tag in a photo
// may say anything.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, s)
}
