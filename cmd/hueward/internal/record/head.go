package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/garden"
)

type headOptions struct {
	book.HeadDone
	fix   book.HeadFix
	plant string
	all   bool
	out   terminal.Output
}

// headSteps are the words that may stand behind the heads.
var headSteps = append(words.Each(book.HeadSteps, func(s book.HeadStep) string { return string(s) }), "fix", "remove")

func (a *app) headCommand() *cobra.Command {
	o := &headOptions{}
	cmd := &cobra.Command{
		Use:   "head [HEAD… STEP]",
		Short: "Note what was done to a flower head, from bag to seed",
		Long: `Note what was done to flower heads on a day. Heads are named by their plant and a
number: M-07-1. Several may be given at once: heads, ranges (M-07-1..M-07-3), or
plants (M-07, M-01..M-05) for all of their open heads. If one cannot be noted, none
is. The steps:

  bag        a bag was tied over it, before it opened
  emasculate its own pollen is kept out: anthers are taken out of the bud, or disc
             florets before they shed (see hueward crops CROP)
  pollinate  pollen was brought to it; once for each day
  dry        its stigmas are dry: no more pollen takes
  harvest    its seed is in; --seeds N once it is counted, then or later
  lost       broken, eaten, mouldy
  fix        correct what was noted: see the flags "with fix"
  remove     take it out again, when it was noted by mistake

Bagging the plant's next head notes a new one. Without a head, the season's heads
are listed.

Some pollen and sap irritate skin and airways: wear gloves, and a mask if you react.` + cli.ExitStatuses(""),
		Example: `  hueward head M-02-1 bag --on yesterday
  hueward head M-02 pollinate
  hueward head M-02-1 M-02-2 harvest --seeds 38
  hueward head M-07-1 fix --bagged 2026-07-02 --not-pollinated 2026-07-05`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			switch {
			case len(args) == 0:
				return a.heads(ctx, b, o)
			case o.Step == "remove":
				return a.remove(ctx, b, "head", o.Heads)
			case o.Step == "fix":
				return a.headFix(ctx, b, o)
			}
			return a.head(ctx, b, o)
		}),
	}
	f := a.Flags(cmd)
	f.Day(&o.On, "on", "")
	f.Count(&o.Seeds, "seeds", "with harvest: `N` seeds in each head; with fix: the seeds, -1 for not counted")
	f.Given("cross", "the `CROSS` that the heads are for; with fix also none", func(s string) error {
		o.Cross, o.fix.Cross = s, new(cli.Not(s))
		return nil
	})
	f.StringVar(&o.Season, "season", "", "the `SEASON` (default: that of the day); of a listing: only that")
	f.Given("note", "a `TEXT` to note on the heads; with fix also none", func(s string) error {
		o.Note, o.fix.Note = s, new(cli.Not(s))
		return nil
	})
	f.StringVar(&o.plant, "plant", "", "list only the heads of the plant `ID`, or of a range")
	f.BoolVar(&o.all, "all", false, "list the heads of all seasons")
	f.DayFix(&o.fix.Bagged, "bagged", "with fix: the `DAY` it was bagged, or none")
	f.DayFix(&o.fix.Emasculated, "emasculated", "with fix: the `DAY` its own pollen was kept out, or none")
	f.DayFix(&o.fix.StigmasDry, "dried", "with fix: the `DAY` its stigmas were dry, or none")
	f.DayFix(&o.fix.Harvested, "harvested", "with fix: the `DAY` it was harvested, or none")
	f.DayFix(&o.fix.Lost, "gone", "with fix: the `DAY` it was lost, or none")
	f.Days(&o.fix.Pollinated, "pollinated", "with fix: `DAYS` on which it was pollinated too")
	f.Days(&o.fix.NotPollinated, "not-pollinated", "with fix: `DAYS` on which it was not pollinated")
	f.Check(func(args []string) error { return o.check(f, args) })
	o.out.AddFlags(cmd)
	return cmd
}

// check looks at what goes together, and takes heads and step from the arguments.
func (o *headOptions) check(f cli.Flags, args []string) error {
	if len(args) == 0 {
		return nil
	}
	step := strings.ToLower(args[len(args)-1])
	o.Heads, o.Step = args[:len(args)-1], book.HeadStep(step)
	switch {
	case !slices.Contains(headSteps, step):
		return cli.Usagef("name the heads first, then what was done: hueward head %s %s", strings.Join(args, " "), strings.Join(headSteps, "|"))
	case len(o.Heads) == 0:
		return cli.Usagef("name the head, such as: hueward head M-07-1 %s", step)
	case step == "fix" && len(o.Heads) != 1:
		return cli.Usagef("correct one head at a time")
	case step == "fix" || step == "remove":
		return nil
	}
	for _, flag := range [...]string{"bagged", "emasculated", "dried", "harvested", "gone", "pollinated", "not-pollinated"} {
		if f.Changed(flag) {
			return cli.Usagef("--%s goes with fix: hueward head %s fix --%s …", flag, o.Heads[0], flag)
		}
	}
	if f.Changed("seeds") && o.Step != book.HeadHarvest {
		return cli.Usagef("--seeds goes with harvest or fix")
	}
	return nil
}

func (a *app) head(ctx context.Context, b *book.Book, o *headOptions) error {
	n, err := garden.NoteHeads(ctx, b, o.HeadDone, a.Now())
	for _, s := range n.Odd {
		a.Warn("%s", s)
	}
	for _, h := range n.Heads {
		a.tellHead(h)
	}
	if n.Open != "" {
		a.Stdout.Say("", words.Sentence(n.Open))
	}
	if len(n.Selfs) > 0 {
		a.Warn("own pollen of %s was not kept out, so some of the offspring will be selfs; if it was: hueward head %s emasculate",
			strings.Join(n.Selfs, ", "), strings.Join(n.Selfs, " "))
	}
	return err
}

func (a *app) headFix(ctx context.Context, b *book.Book, o *headOptions) error {
	o.fix.Seeds = o.Seeds
	h, err := b.FixHead(ctx, o.Heads[0], o.fix)
	if err != nil {
		return err
	}
	doubts, err := garden.HeadDoubts(ctx, b, []book.Head{*h})
	for _, d := range doubts {
		a.Warn("%s", d)
	}
	a.tellHead(*h)
	return err
}

// tellHead tells of a head, and of its plant where that was renamed since its tag was written.
func (a *app) tellHead(h book.Head) {
	of := ""
	if !strings.HasPrefix(naming.Key(h.Name), naming.Key(h.Plant)) {
		of = " of " + h.Plant
	}
	fmt.Fprintf(a.Stdout, "%s%s  %s\n", h.Name, of, compose.HeadWords(h))
}

func (a *app) heads(ctx context.Context, b *book.Book, o *headOptions) (err error) {
	if o.Season == "" && !o.all && o.plant == "" {
		if o.Season, err = garden.SeasonNow(ctx, b, "", a.Now()); err != nil {
			return err
		}
	}
	plants, err := plantsNamed(ctx, b, o.plant)
	if err != nil {
		return err
	}
	found, err := b.Heads(ctx, o.Season)
	l := terminal.Listing{Fields: "head,plant,cross,season,bagged,pollinated,stigmas_dry,harvested,seeds,lost,note,emasculated",
		None: "No heads.", Columns: []terminal.Column{{Head: "head"}, {Head: "cross"}, {Head: "how far", Words: true},
			{Head: "note", Words: true}}}
	for _, h := range found {
		if plants != nil && !slices.Contains(plants, h.Plant) {
			continue
		}
		l.Add(h.Name, h.Plant, h.Cross, h.Season, h.Bagged, words.Each(h.Pollinated, words.Day), h.StigmasDry, h.Harvested, h.Seeds, h.Lost,
			h.Note, h.Emasculated).Also("how far", compose.HeadWords(h))
	}
	return a.Stdout.List(&o.out, l, err)
}

// plantsNamed are the plants that a flag of a listing names; nil: it was not given.
func plantsNamed(ctx context.Context, b *book.Book, typed string) ([]string, error) {
	if typed == "" {
		return nil, nil
	}
	return b.Which(ctx, []string{typed})
}
