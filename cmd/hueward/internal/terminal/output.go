package terminal

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode"

	"github.com/spf13/cobra"
)

// Output is how a listing is printed: for people, or for programs.
type Output struct {
	JSON, CSV bool
}

// AddFlags gives the command --json and --csv.
func (o *Output) AddFlags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.JSON, "json", false, "print JSON")
	cmd.Flags().BoolVar(&o.CSV, "csv", false, "print CSV")
	Exclusive(cmd, "json", "csv")
}

// Exclusive lets at most one of the flags be given.
func Exclusive(cmd *cobra.Command, names ...string) {
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

// People reports whether the listing is for people.
func (o *Output) People() bool { return !o.JSON && !o.CSV }

// WriteJSON writes v as JSON for people and programs.
func WriteJSON(w io.Writer, v any) error {
	e := json.NewEncoder(dataOf(w))
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// WriteCSV writes rows under their columns' names.
func WriteCSV(w io.Writer, head []string, rows [][]string) error {
	c := csv.NewWriter(dataOf(w))
	if err := c.Write(head); err != nil {
		return err
	}
	return c.WriteAll(rows)
}

// Printable is s without what could move a terminal's cursor: a tag in a photo may say anything.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, s)
}
