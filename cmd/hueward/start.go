package main

import (
	"bufio"
	"context"
	"fmt"
	"os/exec"
	"strings"
	"unicode/utf8"

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
			book := cli.BookFlag(near[0])
			a.next("There is a book in "+strings.Join(near, " and in ")+".", [][2]string{
				{"hueward today " + book, "what is due"},
				{"hueward serve " + book, "the book as a page"},
				{"hueward new DIR", "another book, in a folder of its own"},
				{"hueward help", "all commands"},
			})
		} else {
			a.next("There is no book in this folder.", [][2]string{
				{"hueward demo", "a made-up garden, to look at and try things on"},
				{"hueward measure PHOTO", "the colour of a bloom beside a grey card; no book is needed"},
				{"hueward new DIR", "a book in a folder of its own, for your plants and photos"},
				{"hueward help", "all commands"},
			})
		}
		err = nil
	}
	if clicked { // the window would close with the program
		fmt.Fprintf(a.Stdout, "\n%s\nPress Enter to close this window.", place)
		bufio.NewReader(a.Stdin).ReadString('\n')
	}
	return err
}

// next says in five lines what can be done now.
func (a *app) next(where string, commands [][2]string) {
	wide := 0
	for _, c := range commands {
		wide = max(wide, utf8.RuneCountInString(c[0]))
	}
	a.Stdout.Say("  ", where+" What next?")
	for _, c := range commands {
		a.Stdout.Say("      ", fmt.Sprintf("  %-*s   %s", wide, c[0], c[1]))
	}
}

// nextInBook says what the book holds and what can be done with it.
func (a *app) nextInBook(ctx context.Context, b *book.Book) error {
	lines, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	plants, aimless, measured := 0, "", false
	for _, l := range lines {
		plants += l.Plants
		if l.Target == nil && aimless == "" {
			aimless = garden.LineNames([]book.Line{l})
		}
		if l.Plants == 0 || measured {
			continue
		}
		season, err := garden.SeasonWithReadings(ctx, b, l.Name, "")
		if err != nil {
			return err
		}
		readings, err := b.Readings(ctx, l.Name, season)
		if err != nil {
			return err
		}
		measured = len(readings) > 0
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
	where := fmt.Sprintf("%s: %s, %s; %s.", b.Dir(), words.Count(len(lines), "line"), words.Count(plants, "plant"), due)
	measure := [2]string{"hueward measure PHOTOS", "new photos into the book"}
	serve := [2]string{"hueward serve", "the book as a page, here or with --lan on a phone"}
	help := [2]string{"hueward help", "all commands"}
	line := ""
	if len(lines) > 1 {
		line = " LINE"
	}
	switch shade := "the shade you want; or --hex, or --photo of a flower"; {
	case len(lines) == 0:
		a.next(b.Dir()+": an empty book.", [][2]string{{"hueward target LINE --lab L,a,b", "starts a line: its name, and " + shade}, serve,
			{"hueward help photographing", "how to take the photos"}, help})
	case aimless != "":
		a.next(where, [][2]string{{"hueward target " + aimless + " --lab L,a,b", shade}, measure, serve, help})
	case !measured:
		a.next(where, [][2]string{{"hueward help photographing", "how to take the photos"}, measure, serve, help})
	default:
		serve[1] = "the book as a page; all commands: hueward help"
		a.next(where, [][2]string{{"hueward today", "what is due"}, measure,
			{"hueward rank" + line, "which plants to keep; then: hueward pairs" + line}, serve})
	}
	return nil
}

// browse opens an address in the machine's browser, as a double click would; where that
// fails the address stands in the terminal.
func browse(ctx context.Context, url string) {
	exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", url).Start()
}
