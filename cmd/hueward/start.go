package main

import (
	"bufio"
	"context"
	"fmt"
	"os/exec"
	"strings"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

// start is hueward without a command: what can be done next, in five lines. Double-clicked
// in a book's folder on Windows it serves the book's page instead, and opens it.
func (a *app) start(cmd *cobra.Command) error {
	ctx := cmd.Context()
	clicked := mousetrap.StartedByExplorer()
	place, err := a.BookPlace()
	switch {
	case err == nil && clicked:
		return a.serve(ctx, &serveOptions{port: usualPort, open: true})
	case err == nil:
		err = a.WithBook(ctx, func(b *book.Book) error { return a.nextInBook(ctx, b) })
	case a.BookNamed():
		return err
	default:
		if near := cli.NearBooks("."); len(near) > 0 {
			fmt.Fprintf(a.Stdout, "There is a book in %s: go there, or give --book %s.\n", strings.Join(near, " and in "), near[0])
		}
		fmt.Fprint(a.Stdout, `There is no book in this folder. What next?
  hueward demo            a made-up garden, to look at and try things on
  hueward measure PHOTO   the colour of a bloom beside a grey card; no book is needed
  hueward new DIR         a book in a folder of its own, for your plants and photos
  hueward help            all commands
`)
		err = nil
	}
	if clicked { // the window would close with the program
		fmt.Fprintf(a.Stdout, "\n%s\nPress Enter to close this window.", place)
		bufio.NewReader(a.Stdin).ReadString('\n')
	}
	return err
}

// nextInBook says what the book holds and what can be done with it.
func (a *app) nextInBook(ctx context.Context, b *book.Book) error {
	lines, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	plants := 0
	for _, l := range lines {
		plants += l.Plants
	}
	day := a.Now()
	season, err := garden.SeasonOn(ctx, b, "", day, day)
	if err != nil {
		return err
	}
	g, err := garden.Work(ctx, b, season, day)
	if err != nil {
		return err
	}
	due := "nothing is due today"
	if n := len(calendar.Due(g, day, 0)); n > 0 {
		due = words.Count(n, "thing") + " to do today"
	}
	fmt.Fprintf(a.Stdout, `%s: %s, %s; %s. What next?
  hueward today           what is due
  hueward measure PHOTOS  new photos into the book
  hueward rank LINE       which plants to keep; then: hueward pairs LINE
  hueward serve           the book as a page, here or with --lan on a phone; hueward help: all commands
`, b.Dir(), words.Count(len(lines), "line"), words.Count(plants, "plant"), due)
	return nil
}

// browse opens an address in the machine's browser, as a double click would; where that
// fails the address stands in the terminal.
func browse(ctx context.Context, url string) {
	exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", url).Start()
}
