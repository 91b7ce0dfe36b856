package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type crossOptions struct {
	self, open, unknown bool
	heads, seeds        int
	on, line, season    string
	note                string
	out                 output
}

func (a *app) crossCommand() *cobra.Command {
	o := &crossOptions{}
	cmd := &cobra.Command{
		Use:   "cross [SEED-PARENT [POLLEN-PARENT]]",
		Short: "Note which plant is crossed with which",
		Long: `Note a cross: the plant that bears the seed, and the plant that gives the pollen.
The same plant twice, or --self, is a selfing; two plants with the same two parents
are a sib cross; --open leaves a plant to bees and wind; --unknown is for pollen of
which nobody knows the plant. The book makes the cross's name, such as X26-003D;
with --heads it notes so many heads of the seed parent to bag. Without plants, the
season's crosses are listed.

Seed of a protected variety may not be sold or shared without its owner's leave;
breeding with it is allowed in many countries, not all: check yours.` + exitStatuses(""),
		Example: `  hueward cross M-02 M-07 --heads 3
  hueward cross M-04 --self
  hueward cross`,
		Args:              cobra.MaximumNArgs(2),
		ValidArgsFunction: a.completePlants,
		RunE: a.do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.crosses(cmd.Context(), o)
			}
			return a.cross(cmd, args, o)
		}),
	}
	f := cmd.Flags()
	f.BoolVar(&o.self, "self", false, "pollinated with its own pollen")
	f.BoolVar(&o.open, "open", false, "open-pollinated: left to bees and wind")
	f.BoolVar(&o.unknown, "unknown", false, "pollinated by hand, from a plant that is not known")
	f.IntVar(&o.heads, "heads", 0, "note so many `N` heads for it")
	f.IntVar(&o.seeds, "seeds", -1, "`N` seeds in all, where no heads are noted")
	f.StringVar(&o.on, "on", "", "the `DAY` it was made: "+dayForms+" (default: today)")
	f.StringVar(&o.line, "line", "", "the line's `NAME` that the offspring belong to (default: the parents')")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: that of the day)")
	f.StringVar(&o.note, "note", "", "a note on it")
	o.out.AddFlags(cmd)
	cmd.AddCommand(a.crossFixCommand(), a.removeCommand("cross", "X26-003D"))
	return cmd
}

func (a *app) cross(cmd *cobra.Command, args []string, o *crossOptions) error {
	ctx := cmd.Context()
	on, err := a.day("on", o.on)
	if err != nil {
		return err
	}
	c := book.Cross{SeedParent: args[0], Line: o.line, MadeOn: on, Note: o.note, Seeds: countFlag(cmd, "seeds", o.seeds)}
	ways := 0
	for way, kind := range map[*bool]book.Kind{&o.self: book.KindSelf, &o.open: book.KindOpen, &o.unknown: book.KindCross} {
		if *way {
			ways++
			c.Kind = kind
		}
	}
	switch {
	case len(args) == 2 && ways > 0:
		return usagef("give a pollen parent, or one of --self, --open and --unknown, not both")
	case len(args) == 1 && ways != 1:
		return usagef("say where the pollen comes from: a second plant, --self, --open or --unknown")
	case len(args) == 2:
		c.PollenParent = args[1]
	}
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	if c.Season, err = garden.SeasonOn(ctx, b, o.season, on, a.now()); err != nil {
		return err
	}
	made, heads, err := b.AddCross(ctx, c, o.heads)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.stdout, "%s  %s\n", made.Name, made.Words())
	if len(heads) > 0 {
		var names []string
		for _, h := range heads {
			names = append(names, h.Name)
		}
		fmt.Fprintf(a.stdout, "heads %s: bag them before they open\n", strings.Join(names, ", "))
	}
	return nil
}

// countFlag is the count that a flag was given; nil when it was not.
func countFlag(cmd *cobra.Command, flag string, n int) *int {
	if !cmd.Flags().Changed(flag) {
		return nil
	}
	return &n
}

// crossJSON is one cross of "cross --json".
type crossJSON struct {
	Cross        string `json:"cross"`
	Season       string `json:"season"`
	SeedParent   string `json:"seed_parent"`
	PollenParent string `json:"pollen_parent"`
	MadeOn       string `json:"made_on"`
	Seeds        *int   `json:"seeds"`
	Note         string `json:"note"`
	Line         string `json:"line"`
	Kind         string `json:"kind"`
	Heads        int    `json:"heads"`
}

func (a *app) crosses(ctx context.Context, o *crossOptions) error {
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	if o.line, err = garden.LineFilter(ctx, b, o.line); err != nil {
		return err
	}
	found, err := b.Crosses(ctx, o.season)
	if err != nil {
		return err
	}
	list := []crossJSON{}
	var rows, table [][]string
	for _, c := range found {
		if o.line != "" && o.line != c.Line {
			continue
		}
		j := crossJSON{c.Name, c.Season, c.SeedParent, c.PollenParent, dayWord(c.MadeOn), c.Seeds, c.Note, c.Line, string(c.Kind), c.Heads}
		list = append(list, j)
		rows = append(rows, []string{j.Cross, j.Season, j.SeedParent, j.PollenParent, j.MadeOn, countWord(c.Seeds), j.Note, j.Line, j.Kind, strconv.Itoa(j.Heads)})
		table = append(table, []string{j.Cross, c.Words(), j.MadeOn, strconv.Itoa(j.Heads), countWord(c.Seeds), j.Line, j.Season, j.Note})
	}
	switch {
	case o.out.json:
		return writeJSON(a.stdout, list)
	case o.out.csv:
		return writeCSV(a.stdout, []string{"cross", "season", "seed_parent", "pollen_parent", "made_on", "seeds", "note", "line", "kind", "heads"}, rows)
	case len(table) == 0:
		fmt.Fprintln(a.stdout, "No crosses.")
		return nil
	}
	a.stdout.table([]column{{head: "cross"}, {head: "parents"}, {head: "made"}, {head: "heads", right: true}, {head: "seeds", right: true},
		{head: "line", wide: 90}, {head: "season", wide: 90}, {head: "note", words: true}}, table)
	return nil
}

// dayWord is the day, or nothing when it was not said.
func dayWord(t time.Time) string { return compose.Day(t) }

// countWord is the count, or nothing when nobody counted.
func countWord(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func (a *app) crossFixCommand() *cobra.Command {
	var pollen, on, note, seeds string
	cmd := &cobra.Command{
		Use:   "fix CROSS",
		Short: "Correct a cross",
		Long: `Correct what was noted of a cross. A corrected pollen parent is also that of the
plants that came of the cross already. "none" takes a value away.` + exitStatuses(""),
		Example: `  hueward cross fix X26-001Z --pollen M-09
  hueward cross fix X26-001 --seeds none --note "half of it eaten"`,
		Args: cobra.ExactArgs(1),
		RunE: a.do(func(cmd *cobra.Command, args []string) error {
			fix := book.CrossFix{PollenParent: textFix(cmd, "pollen", pollen), Note: textFix(cmd, "note", note)}
			var err error
			if fix.MadeOn, err = a.dayFix(cmd, "made", on); err != nil {
				return err
			}
			if fix.Seeds, err = countFix(cmd, "seeds", seeds); err != nil {
				return err
			}
			if fix == (book.CrossFix{}) {
				return usagef("say what to correct; see hueward cross fix --help")
			}
			b, err := a.openBook(cmd.Context())
			if err != nil {
				return err
			}
			defer b.Close()
			c, err := b.FixCross(cmd.Context(), args[0], fix)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.stdout, "%s  %s\n", c.Name, c.Words())
			return nil
		}),
	}
	f := cmd.Flags()
	f.StringVar(&pollen, "pollen", "", "the pollen parent's `ID`, or none: not known")
	f.StringVar(&on, "made", "", "the `DAY` it was made, or none")
	f.StringVar(&seeds, "seeds", "", "`N` seeds in all, or none")
	f.StringVar(&note, "note", "", "the `TEXT` of its note, or none")
	return cmd
}

// textFix is a corrected text: nil when the flag was not given, empty for none.
func textFix(cmd *cobra.Command, flag, s string) *string {
	if !cmd.Flags().Changed(flag) {
		return nil
	}
	if strings.EqualFold(strings.TrimSpace(s), "none") {
		s = ""
	}
	return &s
}

// dayFix is a corrected day: nil when the flag was not given, zero for none.
func (a *app) dayFix(cmd *cobra.Command, flag, s string) (*time.Time, error) {
	t := textFix(cmd, flag, s)
	switch {
	case t == nil:
		return nil, nil
	case *t == "":
		return &time.Time{}, nil
	}
	d, err := a.day(flag, *t)
	return &d, err
}

// countFix is a corrected count: nil when the flag was not given, -1 for none.
func countFix(cmd *cobra.Command, flag, s string) (*int, error) {
	t := textFix(cmd, flag, s)
	switch {
	case t == nil:
		return nil, nil
	case *t == "":
		none := -1
		return &none, nil
	}
	n, err := strconv.Atoi(*t)
	if err != nil || n < 0 {
		return nil, usagef("--%s %q: want a number, or none", flag, s)
	}
	return &n, nil
}

// removeCommand takes out what was entered by mistake.
func (a *app) removeCommand(kind, example string) *cobra.Command {
	use := kind
	switch kind {
	case "sowing":
		use = "sow"
	case "plant":
		use = "plants"
	}
	return &cobra.Command{
		Use:   "remove NAME…",
		Short: "Take out what was entered by mistake",
		Long: `Take something out of the book that was entered by mistake. It is refused where
something else in the book rests on it. "hueward undo" brings it back.` + exitStatuses("some were refused"),
		Example: "  hueward " + use + " remove " + example,
		Args:    cobra.MinimumNArgs(1),
		RunE:    a.do(func(cmd *cobra.Command, args []string) error { return a.remove(cmd.Context(), kind, args) }),
	}
}

func (a *app) remove(ctx context.Context, kind string, names []string) error {
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	for _, n := range names {
		full, err := b.Remove(ctx, kind, n)
		if err != nil {
			if len(names) == 1 {
				return err
			}
			a.refuse("%v", err)
			continue
		}
		fmt.Fprintf(a.stdout, "%s taken out\n", full)
	}
	return nil
}
