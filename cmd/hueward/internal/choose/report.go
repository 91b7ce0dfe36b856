package choose

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report"
	"hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/garden"
)

func (a *app) reportCommand() *cobra.Command {
	o, file := &garden.Options{}, ""
	cmd := &cobra.Command{
		Use:   "report [LINE]",
		Short: "Write a line's season as one HTML file",
		Long: `Write a line's season as one HTML file that needs no network: the target, the
ranking with colours, numbers and words, the photos with petals and card drawn in,
charts, every flag, and what was assumed. It can be read in any browser and printed.
It does not say where the photos were taken. An earlier report of the same name is
replaced; no other file is.` + cli.ExitStatuses(""),
		Example: `  hueward report
  hueward report "buff apricot" -o season.html`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			r, err := garden.Rank(ctx, b, o)
			if err != nil {
				return err
			}
			s := compose.Season(r, a.Now(), a.Version)
			name := cmp.Or(file, filepath.Join(b.Dir(), ReportName(s)))
			if toFile, err := WriteReport(ctx, a.App, b, r, s, name); err != nil || !toFile {
				return err
			}
			return a.Tell(nil, "%s\n", name)
		}),
	}
	a.chosen(cmd, o).Output(&file, "output", "o",
		"write the report to `FILE.html`, or to standard output with - (default: report-LINE-SEASON.html in the book's folder)", cli.Report)
	return cmd
}

// WriteReport completes a season's report and writes it into the file of that name, or
// to standard output; toFile says which.
func WriteReport(ctx context.Context, a *cli.App, b *book.Book, r *garden.Season, s *report.Season, name string) (toFile bool, err error) {
	if err := compose.Pictures(ctx, b, r, s, a.Warn); err != nil {
		return false, err
	}
	if err := compose.Ahead(ctx, b, r, s); err != nil {
		return false, err
	}
	return a.Output(name, cli.Report, func(w io.Writer) error { return report.Write(w, s) })
}

// ReportName is a file name that every system takes. Names of lines that differ only in
// what it leaves out, such as a/b and a"b, are told apart by a sum.
func ReportName(s *report.Season) string {
	whole := true
	plain := func(s string, spaces bool) string {
		return strings.Trim(strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) {
				return unicode.ToLower(r)
			}
			whole = whole && spaces && r == ' '
			return '-'
		}, s), "-")
	}
	name := "report-" + plain(s.Line, true) + "-" + plain(s.Season, false)
	if len(name) > 180 {
		name, whole = strings.ToValidUTF8(name[:180], ""), false
	}
	if !whole || strings.Contains(s.Line, "  ") {
		sum := sha256.Sum256([]byte(naming.Key(s.Line) + "\x00" + naming.Key(s.Season)))
		name += "-" + hex.EncodeToString(sum[:3])
	}
	return name + ".html"
}
