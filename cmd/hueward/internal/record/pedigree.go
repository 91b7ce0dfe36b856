package record

import (
	"cmp"
	"context"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/genetics"
)

// generations names the generation of every plant of the book.
func generations(ctx context.Context, b *book.Book) (map[string]string, error) {
	list, err := b.Pedigree(ctx)
	if err != nil {
		return nil, err
	}
	return genetics.Generations(list), nil
}

func (a *app) plantsParentsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "parents ID SEED-PARENT POLLEN-PARENT",
		Short: "Say which parents a plant has",
		Long: `Say which parents a plant has, or correct them; "none" is a parent that is not
known. A range such as M-12..M-19 is a family. Plants sown from a packet of the book
have theirs already. A plant can never become its own ancestor.` + cli.ExitStatuses(""),
		Example: `  hueward plants parents M-12 M-02 M-07
  hueward plants parents M-03 M-02 none`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			plants, err := b.Which(ctx, args[:1])
			if err != nil {
				return err
			}
			if err := b.SetParents(ctx, cli.Not(args[1]), cli.Not(args[2]), plants...); err != nil {
				return err
			}
			p, err := b.Plant(ctx, plants[0])
			if err != nil {
				return err
			}
			gen, err := generations(ctx, b)
			return a.Tell(err, "%s  %s, %s\n", strings.Join(plants, ", "), p.ParentWords(), gen[p.ID])
		}),
	}
}

func (a *app) plantsFoundersCommand() *cobra.Command {
	var g book.FounderGroup
	inbreeding, said := 0.0, false
	var out terminal.Output
	cmd := &cobra.Command{
		Use:   "founders [GROUP [ID…]]",
		Short: "Say where plants came from: a bought variety, a neighbour's seed",
		Long: `Say that plants are founders of a group, such as a bought variety. Plants of one
group count as one origin when their offspring's generation is named. --inbreeding
says how inbred the group is: 0 where its plants mate freely, near 1 for an inbred
line. The group "none" takes plants out of theirs. Without a group, the groups are
listed.` + cli.ExitStatuses(""),
		Example: `  hueward plants founders "orange single" M-01..M-06 --inbreeding 0.9
  hueward plants founders`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) (err error) {
			if len(args) == 0 {
				return a.founderGroups(ctx, b, &out)
			}
			var plants []string
			if len(args) > 1 {
				if plants, err = b.Which(ctx, args[1:]); err != nil {
					return err
				}
			}
			g.Name = cli.Not(args[0])
			if g.Name == "" && len(plants) == 0 {
				return cli.Usagef("name the plants to take out of their group")
			}
			err = b.Together(ctx, func(b *book.Book) error {
				if said || len(plants) == 0 {
					if err := b.SetFounderGroup(ctx, g); err != nil || len(plants) == 0 {
						return err
					}
				}
				return b.SetFounders(ctx, g.Name, plants...)
			})
			return a.Tell(err, "%s: %s\n", cmp.Or(g.Name, "no group"), words.Count(len(plants), "plant"))
		}),
	}
	f := a.Flags(cmd)
	f.Float64Var(&inbreeding, "inbreeding", 0, "how inbred it is, `F` from 0 to 1 (default: not known)")
	f.StringVar(&g.Note, "note", "", "a note on it")
	f.Check(func([]string) error {
		if f.Changed("inbreeding") {
			g.Inbreeding = &inbreeding
		}
		said = g.Inbreeding != nil || f.Changed("note")
		return nil
	})
	out.AddFlags(cmd)
	return cmd
}

func (a *app) founderGroups(ctx context.Context, b *book.Book, out *terminal.Output) error {
	groups, err := b.FounderGroups(ctx)
	l := terminal.Listing{Fields: "group,inbreeding,plants,note", None: "No founder groups.", Columns: []terminal.Column{
		{Head: "founder group", Of: "group"}, {Head: "inbreeding", Right: true}, {Head: "plants", Right: true}, {Head: "note", Words: true}}}
	for _, g := range groups {
		l.Add(g.Name, g.Inbreeding, g.Plants, g.Note)
	}
	return a.Stdout.List(out, l, err)
}

func (a *app) plantsCloneCommand() *cobra.Command {
	var season string
	var counts [3]int
	var ids []string
	var how book.CloneBy
	by, n := "", 0
	cmd := &cobra.Command{
		Use:   "clone ID",
		Short: "Add tubers, cuttings or divisions of a plant",
		Long: `Add plants with the genes of another: its tubers, cuttings or divisions. Each
has its own photos, scores, heads and notes; all of them pass on the same genes, so
the ranking takes their photos together, as photos of one plant. A cross of two of
them is a selfing. Give their ids with --ids and --by, or let the book make them.

Cuttings of a protected variety may not be made for others without its owner's
leave: check your country's rules.` + cli.ExitStatuses(""),
		Example: `  hueward plants clone M-07 --cuttings 3
  hueward plants clone M-07 --by tuber --ids M-07-t1,M-07-t2 --season 2027`,
		ValidArgsFunction: a.CompletePlants,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			of, err := b.One(ctx, args[0])
			if err != nil {
				return err
			}
			if season, err = garden.SeasonOn(ctx, b, season, a.Today(), a.Now()); err != nil {
				return err
			}
			made, root, err := b.AddClones(ctx, of, season, how, n, ids)
			return a.Tell(err, "%s of %s: %s\n", words.Count(len(made), string(how)), root, strings.Join(made, ", "))
		}),
	}
	f := a.Flags(cmd)
	f.IntVar(&counts[0], "tubers", 0, "add `N` tubers, with ids that the book makes")
	f.IntVar(&counts[1], "cuttings", 0, "add `N` cuttings")
	f.IntVar(&counts[2], "divisions", 0, "add `N` divisions")
	f.StringVar(&by, "by", "", "with --ids: `HOW`: tuber, cutting or division")
	f.IDs(&ids, "ids", "add plants with these `IDS`")
	f.StringVar(&season, "season", "", "the `SEASON` in which they grow (default: that of the day)")
	f.Check(func([]string) error {
		ways := 0
		how = book.CloneBy(strings.ToLower(strings.TrimSpace(by)))
		for i, c := range counts {
			if c != 0 {
				ways++
				how, n = book.ClonesBy[i], c
			}
		}
		if ways > 1 || ways == 1 && (by != "" || len(ids) > 0) || ways == 0 && (by == "" || len(ids) == 0) {
			return cli.Usagef("say how many: --tubers N, --cuttings N or --divisions N; or --by with --ids")
		}
		return nil
	})
	return cmd
}
