package store

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book/safety"
)

// errUnsound says that the book needs mending. What is wrong was printed already.
var errUnsound = errors.New("the book needs mending; see what to do beside each line")

func (a *app) checkCommand() *cobra.Command {
	quick := false
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Verify the book and its photos",
		Long: `Look at the whole book: whether its database is sound, whether every photo is there,
just as it was copied in, which files the book does not know, whether a plant is its
own ancestor, older than a parent or younger than its photos, and whether the newest
backup opens. Nothing is changed. What is only untidy is listed but is no failure.` + cli.ExitStatuses(""),
		Example: `  hueward check
  hueward check --quick`,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error { return a.check(cmd, quick, &out) }),
	}
	cmd.Flags().BoolVar(&quick, "quick", false, "do not read the photos and the backup")
	out.AddFlags(cmd)
	return cmd
}

func (a *app) check(cmd *cobra.Command, quick bool, out *terminal.Output) error {
	ctx := cmd.Context()
	b, err := a.LookAtBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	photos, err := b.Photos(ctx, "", "")
	if err != nil {
		return err
	}
	bar := a.Progress(len(photos), "checking", out)
	found, err := safety.Check(ctx, b, &safety.CheckOptions{Quick: quick, Progress: func(int, int) { bar.Step() }})
	bar.Clear()
	if err != nil {
		return err
	}
	l := terminal.Listing{Fields: "where,what,do,harmful", CSV: "where,what,do,how", Columns: []terminal.Column{{Of: "how"},
		{Head: "where", Words: true}, {Head: "what", Words: true}, {Head: "what to do", Of: "do", Words: true}}}
	harmful := 0
	for _, f := range found {
		how := "untidy"
		if f.Harmful {
			how = "wrong"
			harmful++
		}
		l.Add(f.Where, f.What, f.Do+hints.Step(f.Remedy), f.Harmful).Also("how", how)
	}
	if len(found) > 0 || !out.People() {
		err = a.Stdout.List(out, l, nil)
	}
	if out.People() && harmful == 0 {
		looked := words.Count(len(photos), "photo")
		if quick {
			looked += ", content not read"
		}
		a.Stdout.Say("", fmt.Sprintf("The book is sound: %s.", looked))
	}
	if err == nil && harmful > 0 {
		return errUnsound
	}
	return err
}
