package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/garden"
	"hueward/selection/intake"
)

// plantsOptions chooses the line and season that plants belong to.
type plantsOptions struct {
	line, season, status, note string
	out                        terminal.Output
}

func (o *plantsOptions) AddFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.line, "line", "", "the line's `NAME`")
	cmd.Flags().StringVar(&o.season, "season", "", "the `SEASON` of sowing")
}

func (a *app) plantsCommand() *cobra.Command {
	list := a.plantsListCommand()
	cmd := &cobra.Command{
		Use:   "plants",
		Short: "Add, list and note plants, say which are kept, and correct mistakes",
		Long: `Add, list and note the plants of a line, and say which are kept as parents or
dropped. A plant that was entered wrongly can be renamed, merged with another, moved
to another line, or taken out. Without a further word the newest season's plants are
listed.

A plant is also added when its first photo is measured into the book.` + cli.ExitStatuses("some plants were refused"),
		Example: `  hueward plants
  hueward plants add M-20 M-21 --line "buff apricot"
  hueward plants keep M-07`,
		RunE: list.RunE,
	}
	cmd.Flags().AddFlagSet(list.Flags())
	terminal.Exclusive(cmd, "json", "csv")
	cmd.AddCommand(a.plantsAddCommand(), list, a.plantsShowCommand(), a.plantsNoteCommand(), a.plantsKeepCommand(), a.plantsDropCommand(),
		a.plantsParentsCommand(), a.plantsFoundersCommand(), a.plantsRenameCommand(), a.plantsMergeCommand(), a.plantsMoveCommand(),
		a.plantsCloneCommand(), a.plantsPlaceCommand(), a.plantsRemoveCommand())
	return cmd
}

func (a *app) plantsAddCommand() *cobra.Command {
	o := &plantsOptions{}
	var ids []string
	cmd := &cobra.Command{
		Use:   "add ID…",
		Short: "Add plants to a line",
		Long: `Add plants to a line. An id is what the plant's tag says: letters, digits,
dashes, dots. Ranges such as M-25..M-30 may be given. Without --season they belong
to the book's newest season.` + cli.ExitStatuses("some plants were refused"),
		Example: `  hueward plants add M-25 M-26 --line "buff apricot" --note "from the north bed"`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error {
			return a.plantsAdd(ctx, b, ids, o)
		}),
	}
	o.AddFlags(cmd)
	cmd.Flags().StringVar(&o.note, "note", "", "a note on each of them")
	a.Flags(cmd).Check(func(args []string) (err error) {
		if ids, err = naming.Spread(args); err != nil {
			return cli.Usagef("%w", err)
		}
		return nil
	})
	return cmd
}

func (a *app) plantsAdd(ctx context.Context, b *book.Book, ids []string, o *plantsOptions) error {
	line, err := garden.LineNamed(ctx, b, o.line)
	if err != nil {
		return err
	}
	season, err := garden.SeasonNow(ctx, b, o.season, a.Now())
	if err != nil {
		return err
	}
	var added []string
	var refused []error
	err = b.Together(ctx, func(b *book.Book) error {
		for _, id := range ids {
			switch err := b.AddPlant(ctx, book.Plant{ID: id, Line: line.Name, Season: season, Note: o.note}); {
			case ctx.Err() != nil:
				return errors.New("stopped; nothing was added")
			case err != nil:
				refused = append(refused, err)
			default:
				added = append(added, strings.TrimSpace(id))
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, err := range refused {
		a.Refuse("%s", hints.Line(err))
	}
	if len(added) == 0 {
		return cli.ErrNothing
	}
	alike, err := intake.Alike(ctx, b, added)
	fmt.Fprintf(a.Stdout, "%s added to %s, season %s%s\n", words.Count(len(added), "plant"), line.Name, season,
		intake.DidYouMean(added, alike))
	return err
}

func (a *app) plantsListCommand() *cobra.Command {
	o := &plantsOptions{}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List plants",
		Long: `List the plants of the newest season, or of those chosen; --season all takes every
season's. With --json or --csv every season's are listed unless one is named.` + cli.ExitStatuses(""),
		Example: `  hueward plants list --season all
  hueward plants list --status kept --csv`,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error {
			if o.status != "" && book.StatusOf(o.status) == "" {
				return cli.Usagef("--status %q: want one of %s", o.status, strings.Join(statuses, ", "))
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.plantsList(cmd.Context(), b, o) })
		}),
	}
	o.AddFlags(cmd)
	cmd.Flags().StringVar(&o.status, "status", "", "only those that are `STATUS`: "+strings.Join(statuses, ", "))
	o.out.AddFlags(cmd)
	return cmd
}

// statuses are the words that --status takes.
var statuses = words.Each(book.Statuses, book.Status.Word)

func (a *app) plantsList(ctx context.Context, b *book.Book, o *plantsOptions) (err error) {
	if o.line, err = garden.LineFilter(ctx, b, o.line); err != nil {
		return err
	}
	filter := book.PlantFilter{Line: o.line, Season: o.season, Status: book.StatusOf(o.status)}
	earlier := 0
	switch {
	case o.season == allSeasons:
		filter.Season = ""
	case o.season == "" && !o.out.JSON && !o.out.CSV: // nobody reads twenty seasons off a screen
		if filter.Season, earlier, err = newestSeason(ctx, b, filter); err != nil {
			return err
		}
	}
	ps, err := b.Plants(ctx, filter)
	if err != nil {
		return err
	}
	if some := filter.Line != "" || filter.Season != "" || filter.Status != ""; some && !o.out.CSV { // it has no generations
		gen, err := generations(ctx, b)
		if err != nil {
			return err
		}
		for i := range ps {
			ps[i].Generation = gen[ps[i].ID]
		}
	}
	l := terminal.Listing{
		Fields: "plant,line,season,seed_parent,pollen_parent,founder_group,founder_inbreeding,status,note,photos,generation," +
			"clone_of,cloned_by,place",
		CSV:  "plant,line,season,seed_parent,pollen_parent,founder_group,founder_inbreeding,status,note,clone_of,cloned_by,place",
		None: "No plants.", Columns: []terminal.Column{{Head: "plant"}, {Head: "line"}, {Head: "season"}, {Head: "status", Of: "word"},
			{Head: "generation"}, {Head: "comes from"}, {Head: "photos", Right: true}, {Head: "note", Words: true},
			{Head: "place", Words: true, Out: !slices.ContainsFunc(ps, func(p book.Plant) bool { return p.Place != "" })}},
	}
	for _, p := range ps {
		i := l.Add(p.ID, p.Line, p.Season, p.SeedParent, p.PollenParent, p.FounderGroup, p.FounderInbreeding, p.Status, p.Note, p.Photos,
			p.Generation, p.CloneOf, p.ClonedBy, p.Place)
		if o.out.People() {
			i.Also("word", p.Status.Word(), "comes from", p.ParentWords())
		}
	}
	err = a.Stdout.List(&o.out, l, nil)
	if earlier > 0 {
		return a.Tell(err, "%s from earlier seasons: --season %s\n", words.Count(earlier, "more plant"), allSeasons)
	}
	return err
}

// allSeasons stands for every season in --season of the list.
const allSeasons = "all"

// newestSeason is the newest season with plants that the filter chooses, and how
// many of them are of other seasons; "" where there are none.
func newestSeason(ctx context.Context, b *book.Book, f book.PlantFilter) (season string, others int, err error) {
	counts, err := b.PlantSeasons(ctx, f)
	if err != nil || len(counts) == 0 {
		return "", 0, err
	}
	newest := len(counts) - 1
	for _, c := range counts[:newest] {
		others += c.Plants
	}
	return counts[newest].Season, others, nil
}

func (a *app) plantsNoteCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "note ID TEXT…",
		Short: "Write a note on a plant",
		Long: `Write a note on a plant, or on each of a range such as M-03..M-09, instead of the
one it has. An empty text ("") removes it.` + cli.ExitStatuses(""),
		Example: `  hueward plants note M-07 sturdy, short stems`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			ids, err := b.Which(ctx, args[:1])
			if err != nil {
				return err
			}
			for _, id := range ids {
				if err := b.SetNote(ctx, id, strings.Join(args[1:], " ")); err != nil {
					return err
				}
			}
			return nil
		}),
	}
}

func (a *app) plantsKeepCommand() *cobra.Command {
	reserve, undecided := false, false
	cmd := &cobra.Command{
		Use:   "keep ID…",
		Short: "Keep plants as parents",
		Long: `Say that plants are kept as parents, with --reserve that they are held until the
kept ones are safe, with --not-yet that nothing is decided yet. Ranges such as
M-03..M-09 may be given. If one is unknown, none is changed.` + cli.ExitStatuses(""),
		Example: `  hueward plants keep M-07 M-12
  hueward plants keep M-03 --reserve`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, ids []string) error {
			s := book.Kept
			if reserve {
				s = book.Reserve
			}
			if undecided {
				s = book.Growing
			}
			return a.setStatus(ctx, b, s, ids)
		}),
	}
	cmd.Flags().BoolVar(&reserve, "reserve", false, "hold them in reserve")
	cmd.Flags().BoolVar(&undecided, "not-yet", false, "nothing is decided: they are growing")
	terminal.Exclusive(cmd, "reserve", "not-yet")
	return cmd
}

func (a *app) plantsDropCommand() *cobra.Command {
	as := ""
	cmd := &cobra.Command{
		Use:   "drop ID…",
		Short: "Drop plants",
		Long: `Say that plants are not to be parents this season: dropped, off-type in a line that
is held true, or lost. They stay in the book with their photos. Ranges such as
M-03..M-09 may be given. If one is unknown, none is changed.` + cli.ExitStatuses(""),
		Example: `  hueward plants drop M-01 M-02
  hueward plants drop C-04 --as off-type`,
		RunE: a.Do(func(cmd *cobra.Command, ids []string) error {
			s := book.StatusOf(as)
			if s != book.Passed && s != book.OffType && s != book.Lost {
				return cli.Usagef("--as %q: want dropped, off-type or lost", as)
			}
			return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.setStatus(cmd.Context(), b, s, ids) })
		}),
	}
	cmd.Flags().StringVar(&as, "as", book.Passed.Word(), "`WHY`: dropped, off-type or lost")
	return cmd
}

func (a *app) setStatus(ctx context.Context, b *book.Book, s book.Status, ids []string) error {
	ids, err := b.Which(ctx, ids)
	if err != nil {
		return err
	}
	return a.Tell(b.SetStatus(ctx, s, ids...), "%s: %s\n", strings.Join(ids, ", "), s.Word())
}

func (a *app) plantsPlaceCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "place ID… PLACE",
		Short: "Say where plants stand in the bed",
		Long: `Say where plants stand in the bed, in your words: "bed 3, row 2". Ranges such as
M-03..M-09 may be given. "none" takes it away.` + cli.ExitStatuses(""),
		Example: `  hueward plants place M-03..M-09 "bed 3, row 2"`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			place := cli.Not(strings.TrimSpace(args[len(args)-1]))
			ids, err := b.Which(ctx, args[:len(args)-1])
			if err != nil {
				return err
			}
			return a.Tell(b.SetPlace(ctx, place, ids...), "%s: %s\n", strings.Join(ids, ", "), cmp.Or(place, "no place"))
		}),
	}
}
