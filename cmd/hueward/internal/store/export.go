package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/report/workbook"
	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/exchange"
	"hueward/selection/book/transfer"
)

type exportOptions struct {
	xlsx, table   string
	photos, force bool
}

func (a *app) exportCommand() *cobra.Command {
	o, dir := &exportOptions{}, ""
	cmd := &cobra.Command{
		Use:   "export [DIR]",
		Short: "Write the whole book as CSV, or as one workbook",
		Long: `Write the whole book as CSV files into a new folder, a file for each table:
plants.csv, readings.csv, crosses.csv, heads.csv, packets.csv, scores.csv and the
others. "hueward import" of that folder into a new book gives the same book;
--photos adds the photos' files. Only the history of changes is left out. Without
DIR the folder is named after the book and the day.

With --xlsx the tables go into one workbook for spreadsheets, a sheet for each. It
is for reading: long technical columns are left out, and it cannot be imported. With
--table one table is printed.

In the CSV files a text that begins with = + - or @ is written as it is, so that
"import" reads it back; a spreadsheet may take it for a formula. In the workbook it
is text.` + cli.ExitStatuses("the files of some photos are missing"),
		Example: `  hueward export garden-2026
  hueward export --xlsx garden.xlsx
  hueward export --table plants`,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error {
			if dir == "-" {
				return cli.Usagef("an export is a folder; name one, or print one table: --table NAME")
			}
			if dir != "" && (o.xlsx != "" || o.table != "") {
				return cli.Usagef("a folder and --xlsx or --table do not go together; give one of them")
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.export(cmd.Context(), b, dir, o) })
		}),
	}
	f := a.Flags(cmd)
	f.First(&dir)
	f.Output(&o.xlsx, "xlsx", "", "write a workbook, the `FILE`.xlsx, or to standard output with -", cli.Workbook)
	f.StringVar(&o.table, "table", "", "print one table, `NAME` such as plants")
	f.BoolVar(&o.photos, "photos", false, "copy the photos' files, too")
	f.BoolVar(&o.force, "force", false, "replace an earlier export, or the workbook")
	terminal.Exclusive(cmd, "xlsx", "table")
	terminal.Exclusive(cmd, "xlsx", "photos")
	terminal.Exclusive(cmd, "table", "photos")
	return cmd
}

func (a *app) export(ctx context.Context, b *book.Book, dir string, o *exportOptions) error {
	switch {
	case o.table != "":
		return transfer.Export(ctx, b, func(t transfer.Table) error {
			_, err := t.WriteCSV(exchange.NewWriter(a.Stdout.Data()))
			return err
		}, o.table)
	case o.xlsx != "":
		return a.exportWorkbook(ctx, b, o)
	}
	if dir == "" {
		dir = filepath.Base(b.Dir()) + "-" + a.Now().Format("2006-01-02")
	}
	done, err := transfer.ExportDir(ctx, b, dir, o.photos, o.force)
	if ctx.Err() != nil && err != nil {
		return errors.New("stopped; nothing was written")
	}
	if err != nil {
		return err
	}
	parts := words.Each([]string{"plants", "readings", "crosses", "heads", "packets", "scores"},
		func(table string) string { return fmt.Sprintf("%d %s", done.Rows[table], table) })
	fmt.Fprintf(a.Stdout, "%s: %s written: %s\n", dir, words.Count(len(done.Files), "table"), strings.Join(parts, ", "))
	if o.photos {
		fmt.Fprintf(a.Stdout, "%s copied\n", words.Count(done.Photos, "photo"))
	}
	for _, p := range done.Lost {
		a.Refuse("%s: the file is missing, or is not what it was; put it back from a backup", p)
	}
	return nil
}

func (a *app) exportWorkbook(ctx context.Context, b *book.Book, o *exportOptions) (err error) {
	if o.xlsx != "-" && !strings.EqualFold(filepath.Ext(o.xlsx), ".xlsx") {
		return cli.Usagef("--xlsx %q: want a name that ends in .xlsx", o.xlsx)
	}
	if _, err := disk.Stat(o.xlsx); err == nil && !o.force && o.xlsx != "-" {
		return fmt.Errorf("%s is there already; name another file, or replace it: --force", o.xlsx)
	}
	w := workbook.New()
	defer w.Close()
	sheets, rows := 0, 0
	err = transfer.Export(ctx, b, func(t transfer.Table) error {
		n, err := w.Add(t)
		sheets, rows = sheets+1, rows+n
		return err
	})
	if err != nil {
		return err
	}
	if toFile, err := a.Output(o.xlsx, cli.Workbook, w.Write); err != nil || !toFile {
		return err
	}
	return a.Tell(nil, "%s: %s, %s\n", o.xlsx, words.Count(sheets, "sheet"), words.Count(rows, "row"))
}
