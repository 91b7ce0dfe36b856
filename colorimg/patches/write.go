package patches

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Write writes the set as CGATS.17 text that [Parse] reads back: Lab under D65
// to six decimals, and each patch's row and column.
//
// A set whose layout was read from the patches' names keeps it so.
func (s *Set) Write(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "CGATS.17\n")
	if s.Name != "" {
		fmt.Fprintf(b, "DESCRIPTOR %s\n", quoted(s.Name))
	}
	fmt.Fprintf(b, "KEYWORD \"ILLUMINANT\"\nILLUMINANT \"D65\"\nKEYWORD \"HUEWARD_GAP\"\nHUEWARD_GAP %s\n",
		quoted(strconv.FormatFloat(s.Gap, 'g', -1, 64)))
	fields := "SAMPLE_ID LAB_L LAB_A LAB_B"
	n := 4
	if !s.FromIDs {
		fmt.Fprintf(b, "KEYWORD \"HUEWARD_ROWS\"\nHUEWARD_ROWS \"%d\"\nKEYWORD \"HUEWARD_COLUMNS\"\nHUEWARD_COLUMNS \"%d\"\n", s.Rows,
			s.Cols)
		fmt.Fprintf(b, "KEYWORD \"SAMPLE_ROW\"\nKEYWORD \"SAMPLE_COLUMN\"\n")
		fields, n = "SAMPLE_ID SAMPLE_ROW SAMPLE_COLUMN LAB_L LAB_A LAB_B", 6
	}
	fmt.Fprintf(b, "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", n, fields,
		len(s.Patches))
	for _, p := range s.Patches {
		b.WriteString(quoted(p.ID))
		if !s.FromIDs {
			fmt.Fprintf(b, " %d %d", p.Row+1, p.Col+1)
		}
		l := p.Ref.Lab()
		fmt.Fprintf(b, " %.6f %.6f %.6f\n", l.L, l.A, l.B)
	}
	fmt.Fprintf(b, "END_DATA\n")
	return b.Flush()
}

// quoted is s as a CGATS string: on one line, its quotes doubled.
func quoted(s string) string {
	return `"` + strings.ReplaceAll(plain(s), `"`, `""`) + `"`
}
