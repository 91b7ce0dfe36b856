package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/transfer"
	"hueward/selection/intake"
)

func (a *app) importCommand() *cobra.Command {
	o := &transfer.ImportOptions{}
	cmd := &cobra.Command{
		Use:   "import FILE.csv…|DIR",
		Short: "Take in plants, readings, crosses and the like from CSV",
		Long: `Take in tables from CSV files, or all tables of a folder that "hueward export"
wrote. If a row has a mistake, none is taken in. What a file holds is known by the
columns that its first line names:

  plants    plant,line,season,seed_parent,pollen_parent,founder_group,
            founder_inbreeding,status,note and a column for each trait
  readings  plant,season,date,L,a,b,se,source
  crosses   cross,season,seed_parent,pollen_parent,made_on,seeds,note,line,kind
  heads     head,plant,cross,season,bagged,pollinated,stigmas_dry,harvested,
            seeds,lost,note
  packets   packet,season,line,cross,heads,founder_group,seeds,made,dried,
            place,paper,note
  scores    plant,trait,value,date,note

and the other tables of an export. Columns may be left out and stand in any order.
Commas, semicolons and tabs separate fields; a decimal comma is understood; dates
look like 2026-07-14, 14.7.2026, or 12/7/2026 where the locale says which is the
month. In the columns pollinated and heads several are separated by spaces. New
lines and seasons are added; parents may come later, or in another of the files. A
row that is in the book already is skipped. One that differs from the book is a
mistake, unless --update is given: it then changes what the file has columns for,
and an empty field clears the value. "hueward undo" takes an import back.` + cli.ExitStatuses(""),
		Example: `  hueward import new-plants.csv --dry-run
  hueward import new-plants.csv colorimeter.csv
  hueward import new-plants.csv --as plants --update`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error { return a.importTables(cmd.Context(), args, o) }),
	}
	f := cmd.Flags()
	f.StringVar(&o.As, "as", "", "what the files are, `TABLE` such as plants (default: known by their columns)")
	f.BoolVar(&o.Update, "update", false, "rows that differ from the book change it")
	f.BoolVar(&o.DryRun, "dry-run", false, "say what would be done, and change nothing")
	f.StringArrayVar(&o.Ignore, "ignore", nil, "skip the `COLUMN`; may be given several times")
	return cmd
}

func (a *app) importTables(ctx context.Context, args []string, o *transfer.ImportOptions) error {
	var files []string
	for _, arg := range args {
		if back, err := transfer.PutBack(arg); err != nil {
			return err
		} else if back {
			a.Warn("%s: an export over it was broken off; put back as it was before", arg)
		}
		info, err := disk.Stat(arg)
		if err == nil && info.IsDir() {
			found, err := tablesIn(arg)
			if err != nil {
				return err
			}
			if len(found) == 0 {
				return fmt.Errorf("%s: there is no .csv file in it", arg)
			}
			files = append(files, found...)
			continue
		}
		files = append(files, arg)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	o.Order = a.Order()
	before, err := b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return err
	}
	done, err := transfer.Import(ctx, b, files, o)
	if ctx.Err() != nil && err != nil {
		return errors.New("stopped; nothing was imported")
	}
	var wrong *transfer.ImportError
	if errors.As(err, &wrong) {
		for i, p := range wrong.Problems {
			end := ""
			if last := i == len(wrong.Problems)-1; last {
				end = "; nothing was imported"
				if wrong.More > 0 {
					end = "; " + words.Count(wrong.More, "mistake") + " more" + end
				}
			}
			a.Warn("%s%s", hints.Line(p), end)
		}
		return cli.ErrNothing
	}
	if err != nil {
		return err
	}
	a.tellImported(done, o.DryRun)
	return a.tellAlike(ctx, b, before)
}

// tellAlike asks of plants that are new since whether others were meant that are easily taken for them.
func (a *app) tellAlike(ctx context.Context, b *book.Book, before []book.Plant) error {
	now, err := b.Plants(ctx, book.PlantFilter{})
	if err != nil || len(now) == len(before) {
		return err
	}
	had := map[string]bool{}
	for _, p := range before {
		had[p.ID] = true
	}
	names := words.Each(slices.DeleteFunc(now, func(p book.Plant) bool { return had[p.ID] }), func(p book.Plant) string { return p.ID })
	alike, err := intake.Alike(ctx, b, names)
	if asked := intake.DidYouMean(names, alike); asked != "" {
		a.Stdout.Say("", words.Count(len(names), "new plant")+asked)
	}
	return err
}

// tablesIn are the tables in a folder. Hidden files are other systems' notes on the others.
func tablesIn(dir string) (files []string, err error) {
	entries, err := disk.ReadDir(dir)
	for _, e := range entries {
		if name := e.Name(); strings.EqualFold(filepath.Ext(name), ".csv") && !strings.HasPrefix(name, ".") {
			files = append(files, filepath.Join(dir, name))
		}
	}
	return files, err
}

func (a *app) tellImported(done *transfer.Imported, dry bool) {
	said := false
	for _, t := range done.Tables {
		var parts []string
		for _, p := range []struct {
			n    int
			what string
		}{{t.Added, "added"}, {t.Updated, "changed"}, {t.Same, "in the book already"}} {
			if p.n > 0 {
				parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
			}
		}
		if len(parts) == 0 {
			continue
		}
		said = true
		fmt.Fprintf(a.Stdout, "%s: %s: %s\n", filepath.Base(t.File), strings.ReplaceAll(t.Kind, "_", " "), strings.Join(parts, ", "))
	}
	if !said {
		fmt.Fprintln(a.Stdout, "There is nothing in it.")
	}
	if len(done.Lines) > 0 {
		fmt.Fprintf(a.Stdout, "new lines: %s\n", strings.Join(done.Lines, ", "))
	}
	if len(done.Seasons) > 0 {
		fmt.Fprintf(a.Stdout, "new seasons: %s\n", strings.Join(done.Seasons, ", "))
	}
	if done.PhotosCopied > 0 {
		fmt.Fprintf(a.Stdout, "%s copied\n", words.Count(done.PhotosCopied, "photo"))
	}
	if dry {
		fmt.Fprintln(a.Stdout, "A dry run: nothing was changed.")
		return
	}
	for _, d := range done.Ahead {
		a.Warn("%s; taken in all the same: correct it if it is wrong", d)
	}
	if done.WithoutFile > 0 {
		a.Warn("%s came without the file; export with --photos, and import the whole folder", words.Count(done.WithoutFile, "photo"))
	}
}
