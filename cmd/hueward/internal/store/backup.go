package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/safety"
)

func (a *app) backupCommand() *cobra.Command {
	keep := 10
	list, photos := false, ""
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "backup [FILE.db]",
		Short: "Make a safe copy of the book",
		Long: `Make a copy of the book's database while others may use it, into the book's folder
"backups", or into a file elsewhere. The copy is opened and verified before it gets
its name. In that folder the newest ten are kept, and the newest of each of the last
twelve months; older ones are removed.

The photos are not in it: they never change. --photos copies to another place, such
as a memory stick, the photos that are not there yet; keep that away from the
computer. A book is also copied before a newer hueward changes its tables.` + cli.ExitStatuses("some photos were not copied"),
		Example: `  hueward backup
  hueward backup garden.db --photos copies
  hueward backup --list
  hueward backup restore garden.db`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			switch {
			case list:
				return a.backups(b, &out)
			case !out.People():
				return cli.Usagef("--json and --csv go with --list")
			case len(args) > 0 && args[0] == "-":
				return cli.Usagef("a backup is a file; name one, or leave it out for the book's folder of backups")
			case keep < 1:
				return cli.Usagef("--keep %d: want 1 or more", keep)
			}
			return a.backup(ctx, b, strings.Join(args, ""), keep, photos)
		}),
	}
	cmd.Flags().IntVar(&keep, "keep", keep, "keep the newest `N` in the folder")
	cmd.Flags().BoolVar(&list, "list", false, "list the backups in the folder")
	cmd.Flags().StringVar(&photos, "photos", "", "also copy into the folder `DIR` the photos that are not there yet")
	out.AddFlags(cmd)
	cmd.AddCommand(a.restoreCommand())
	return cmd
}

func (a *app) backup(ctx context.Context, b *book.Book, file string, keep int, photos string) error {
	made, err := safety.Backup(ctx, b, file)
	if err != nil {
		return err
	}
	a.Did = true
	fmt.Fprintf(a.Stdout, "%s: copied and verified\n", made)
	if file == "" {
		removed, err := safety.Rotate(b, keep, made)
		if len(removed) > 0 {
			fmt.Fprintf(a.Stdout, "%s removed\n", words.Count(len(removed), "older backup"))
		}
		if err != nil {
			return &cli.PartError{Err: fmt.Errorf("older backups were not removed: %w", err)}
		}
	}
	if photos == "" {
		return nil
	}
	done, err := safety.CopyPhotos(ctx, b, photos)
	if err != nil && done != nil {
		return &cli.PartError{Err: fmt.Errorf("%w; %d of %s copied: repeat the command to go on", err, done.Copied,
			words.Count(done.All, "photo"))}
	}
	if err != nil {
		return err
	}
	for _, bad := range done.Bad {
		a.Refuse("%s: not copied: %v; see what else is wrong with: hueward check", bad.Path, bad.Err)
	}
	fmt.Fprintf(a.Stdout, "%s: %s, %d of them new\n", photos, words.Count(done.All-len(done.Bad), "photo"), done.Copied)
	return nil
}

func (a *app) backups(b *book.Book, out *terminal.Output) error {
	all, err := safety.Backups(b)
	l := terminal.Listing{Fields: "file,made,bytes", CSV: "file,made,mib", None: "No backups; make one: hueward backup",
		Columns: []terminal.Column{{Head: "backup", Of: "file"}, {Head: "made"}, {Head: "MiB", Of: "mib", Right: true}}}
	for _, f := range all {
		l.Add(f.Name, f.Made.Format(time.RFC3339), f.Bytes).
			Also("made", f.Made.Format("2006-01-02 15:04"), "mib", words.Fixed(float64(f.Bytes)/(1<<20), 1))
	}
	return a.Stdout.List(out, l, err)
}

func (a *app) restoreCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "restore FILE.db",
		Short: "Put a backup in place of the book",
		Long: `Put a backup in place of the book, by its name in the folder "backups" or any path.
It is verified first. The present book is kept among the backups, so that this can
be taken back the same way. No other command may be running.` + cli.ExitStatuses(""),
		Example: `  hueward backup restore monday.db`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			dir, err := a.BookPlace()
			if err != nil {
				return err
			}
			file := args[0]
			if _, err := disk.Stat(file); errors.Is(err, fs.ErrNotExist) && filepath.Base(file) == file {
				file = filepath.Join(dir, "backups", file)
			}
			if _, err := disk.Stat(file); err != nil {
				return fmt.Errorf("restore %s: it is not there; see what is: hueward backup --list", args[0])
			}
			kept, err := safety.Restore(cmd.Context(), dir, file, a.Now())
			return a.Tell(err, "%s is the book of %s now; the one before is kept as %s\n", args[0], dir, filepath.Base(kept))
		}),
	}
}
