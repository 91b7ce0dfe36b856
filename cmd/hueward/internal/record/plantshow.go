package record

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report"
	"hueward/report/compose"
	"hueward/report/story"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

func (a *app) plantsShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "show ID",
		Short: "Show all that the book has of one plant",
		Long: `Show all that the book has of one plant: where it stands, its ancestors, readings,
scores, crosses, heads, packets and note.` + cli.ExitStatuses(""),
		Example: `  hueward plants show M-07`,
		RunE:    a.InBook(func(ctx context.Context, b *book.Book, args []string) error { return a.plantsShow(ctx, b, args[0]) }),
	}
}

func (a *app) plantsShow(ctx context.Context, b *book.Book, name string) error {
	ids, err := b.Which(ctx, []string{name})
	if err != nil {
		return err
	}
	if len(ids) != 1 {
		return cli.Usagef("show one plant at a time; %s are %d", name, len(ids))
	}
	s, err := story.Of(ctx, b, ids[0])
	if err != nil {
		return err
	}
	out := a.Stdout
	fmt.Fprintf(out, "%s  %s\n", out.Strong(s.ID), s.Status.Word())
	out.Say("", words.Joined(", ", s.Line, "season "+s.Season, s.Generation, s.ParentWords(), s.Place))
	if s.Name != "" {
		fmt.Fprintf(out, "%s%s, %s\n", pad(out.Swatch(s.Hex, 6)), s.Name, s.Hex)
	}
	a.standing(ctx, b, s)
	if len(s.Pedigree.Parents) > 0 {
		a.part("Ancestors")
		a.ancestors(s.Pedigree.Parents, "  ")
	}
	a.named("Offspring", s.Offspring)
	a.named("With the same genes", s.Clones)
	a.showReadings(s)
	a.showSeason(s)
	if s.Note != "" {
		a.part("Note")
		out.Say("  ", "  "+strings.ReplaceAll(terminal.Printable(s.Note), "\n", " "))
	}
	return nil
}

// pad is a swatch with a space behind it, or nothing.
func pad(swatch string) string {
	if swatch == "" {
		return ""
	}
	return swatch + " "
}

func (a *app) part(title string) { fmt.Fprintf(a.Stdout, "\n%s\n", a.Stdout.Strong(title)) }

// named is a part with the names of plants, where there are any.
func (a *app) named(title string, plants []book.Plant) {
	if len(plants) > 0 {
		a.part(title)
		a.Stdout.Say("  ", "  "+strings.Join(words.Each(plants, func(p book.Plant) string { return p.ID }), ", "))
	}
}

// standing says where the plant has its place in its season, if that can be ranked.
func (a *app) standing(ctx context.Context, b *book.Book, s *story.Plant) {
	r, err := garden.Rank(ctx, b, &garden.Options{Line: s.Line, Season: s.Season})
	if err != nil {
		return
	}
	season := compose.Season(r, a.Now(), "")
	for _, p := range season.Plants {
		if p.ID != s.ID && p.ID != s.CloneOf { // which is ranked with its clones, as one
			continue
		}
		by := ""
		if season.ByOffspring {
			by = " by what it passes on"
		}
		text := fmt.Sprintf("Rank %d of %d%s: %s from the target, %s; advice: %s.", p.Rank, len(season.Plants), by, words.Fixed(p.Sorts(), 1),
			p.Than(), report.AdviceWord(p.Advice))
		if season.ByOffspring {
			text += fmt.Sprintf(" Itself %s from it, %s.", words.Fixed(p.DeltaE, 1), p.Direction)
		}
		a.Stdout.Say("", text)
		if p.Why != "" {
			a.Stdout.Say("", p.Why)
		}
	}
}

func (a *app) ancestors(list []*story.Ancestor, indent string) {
	for _, p := range list {
		more := ""
		if p.More {
			more = "with parents of its own"
		}
		text := words.Joined(", ", cmp.Or(p.ID, "not known"), p.As, p.Group, p.Name, more)
		fmt.Fprintf(a.Stdout, "%s%s%s\n", indent, pad(a.Stdout.Swatch(p.Hex, 2)), text)
		a.ancestors(p.Parents, indent+"  ")
	}
}

func (a *app) showReadings(s *story.Plant) {
	if len(s.Readings) == 0 {
		a.part("Readings")
		fmt.Fprintln(a.Stdout, "  none yet")
	}
	tell(a, "Readings", s.Readings, func(r story.Reading) string {
		day, of := words.Day(r.MeasuredAt), r.Source
		if r.Photo != nil {
			day, of = words.Day(r.Photo.TakenAt), r.Photo.Name
		}
		text := string(r.Measured.Status)
		if r.HasLab {
			text = fmt.Sprintf("%s, %s, %s", words.Fixed(r.Lab.L, 1), words.Fixed(r.Lab.A, 1), words.Fixed(r.Lab.B, 1))
		}
		if r.HasAim {
			text += fmt.Sprintf("  %s %s", words.Fixed(r.DeltaE, 1), r.Direction)
		}
		return fmt.Sprintf("%s  %s  (%s)", day, text, of)
	})
}

func (a *app) showSeason(s *story.Plant) {
	tell(a, "Scores", s.Scores, func(x story.Score) string { return fmt.Sprintf("%s: %s  (%s)", x.Trait, x.Word, x.Day) })
	tell(a, "Crosses", s.Crosses, func(c book.Cross) string {
		return fmt.Sprintf("%s  %s, %s, %s", c.Name, c.Words(), words.Day(c.MadeOn), words.Count(c.Heads, "head"))
	})
	tell(a, "Heads", s.Heads, func(h book.Head) string {
		text := fmt.Sprintf("%s  %s", h.Name, compose.HeadWords(h))
		if h.Cross != "" {
			text += ", for " + h.Cross
		}
		return text
	})
	tell(a, "Packets", s.Packets, func(p book.Packet) string {
		text := fmt.Sprintf("%s  of %s", p.Name, p.Cross)
		if p.Seeds != nil {
			text += ", " + words.Count(*p.Seeds, "seed")
		}
		if p.Sown > 0 {
			text += fmt.Sprintf(", %d sown", p.Sown)
		}
		return text
	})
}

// tell is a part with a line for each of the list, where there are any.
func tell[T any](a *app, title string, list []T, say func(T) string) {
	if len(list) > 0 {
		a.part(title)
	}
	for _, x := range list {
		a.Stdout.Say("    ", "  "+say(x))
	}
}
