package record

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
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
		Args: cobra.ExactArgs(3),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			parents := args[1:]
			for i, p := range parents {
				if strings.EqualFold(p, "none") {
					parents[i] = ""
				}
			}
			plants, err := b.Which(ctx, args[:1])
			if err != nil {
				return err
			}
			if err := b.SetParents(ctx, parents[0], parents[1], plants...); err != nil {
				return err
			}
			p, err := b.Plant(ctx, plants[0])
			if err != nil {
				return err
			}
			gen, err := generations(ctx, b)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.Stdout, "%s  %s, %s\n", strings.Join(plants, ", "), p.ParentWords(), gen[p.ID])
			return nil
		}),
	}
}

func (a *app) plantsFoundersCommand() *cobra.Command {
	var inbreeding float64
	var note string
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
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			b, err := a.OpenBook(ctx)
			if err != nil {
				return err
			}
			defer b.Close()
			if len(args) == 0 {
				return a.founderGroups(ctx, b, &out)
			}
			var plants []string
			if len(args) > 1 {
				if plants, err = b.Which(ctx, args[1:]); err != nil {
					return err
				}
			}
			none := strings.EqualFold(args[0], "none")
			if none {
				args[0] = ""
			}
			if none && len(plants) == 0 {
				return cli.Usagef("name the plants to take out of their group")
			}
			err = b.Together(ctx, func(b *book.Book) error {
				if cmd.Flags().Changed("inbreeding") || cmd.Flags().Changed("note") || len(plants) == 0 {
					g := book.FounderGroup{Name: args[0], Note: note}
					if cmd.Flags().Changed("inbreeding") {
						g.Inbreeding = &inbreeding
					}
					if err := b.SetFounderGroup(ctx, g); err != nil {
						return err
					}
				}
				if len(plants) == 0 {
					return nil
				}
				return b.SetFounders(ctx, args[0], plants...)
			})
			if err != nil {
				return err
			}
			name := args[0]
			if none {
				name = "no group"
			}
			fmt.Fprintf(a.Stdout, "%s: %s\n", name, words.Count(len(plants), "plant"))
			return nil
		}),
	}
	f := cmd.Flags()
	f.Float64Var(&inbreeding, "inbreeding", 0, "how inbred it is, `F` from 0 to 1 (default: not known)")
	f.StringVar(&note, "note", "", "a note on it")
	out.AddFlags(cmd)
	return cmd
}

func (a *app) founderGroups(ctx context.Context, b *book.Book, out *terminal.Output) error {
	groups, err := b.FounderGroups(ctx)
	if err != nil {
		return err
	}
	type groupJSON struct {
		Group      string   `json:"group"`
		Inbreeding *float64 `json:"inbreeding"`
		Plants     int      `json:"plants"`
		Note       string   `json:"note"`
	}
	list := []groupJSON{}
	var table [][]string
	for _, g := range groups {
		list = append(list, groupJSON{g.Name, g.Inbreeding, g.Plants, g.Note})
		f := ""
		if g.Inbreeding != nil {
			f = strconv.FormatFloat(*g.Inbreeding, 'g', -1, 64)
		}
		table = append(table, []string{g.Name, f, strconv.Itoa(g.Plants), g.Note})
	}
	return a.Stdout.List(out, terminal.Listing{Items: list, Table: table, None: "No founder groups.", Columns: []terminal.Column{
		{Head: "founder group"}, {Head: "inbreeding", Right: true}, {Head: "plants", Right: true}, {Head: "note", Words: true},
	}})
}
