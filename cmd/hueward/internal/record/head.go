package record

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

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
	on, cross, season, note, plant string
	seeds                          int
	all                            bool
	fix                            headFixFlags
	out                            terminal.Output
}

// headFixFlags are the flags of "head … fix".
type headFixFlags struct {
	bagged, emasculated, dry  string
	harvested, lost           string
	pollinated, notPollinated []string
}

func (a *app) headCommand() *cobra.Command {
	o := &headOptions{}
	cmd := &cobra.Command{
		Use:   "head [HEAD… STEP]",
		Short: "Note what was done with a flower head, from bag to seed",
		Long: `Note what was done with flower heads on a day. Heads are named by their plant and a
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

Some pollen and sap irritate skin and airways: gloves, and a mask if you react.` + cli.ExitStatuses(""),
		Example: `  hueward head M-02-1 bag --on yesterday
  hueward head M-02 pollinate
  hueward head M-02-1 M-02-2 harvest --seeds 38
  hueward head M-07-1 fix --bagged 2026-07-02 --not-pollinated 2026-07-05`,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.WithBook(cmd.Context(), func(b *book.Book) error { return a.heads(cmd.Context(), b, o) })
			}
			return a.head(cmd, args, o)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&o.on, "on", "", "the `DAY`: "+cli.DayForms+" (default: today)")
	f.IntVar(&o.seeds, "seeds", -1, "with harvest: `N` seeds in each head; with fix: the seeds, -1 for not counted")
	f.StringVar(&o.cross, "cross", "", "the `CROSS` that the heads are for; with fix also none")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: that of the day); of a listing: only that")
	f.StringVar(&o.note, "note", "", "a `TEXT` to note on the heads; with fix also none")
	f.StringVar(&o.plant, "plant", "", "list only the heads of the plant `ID`, or of a range")
	f.BoolVar(&o.all, "all", false, "list the heads of all seasons")
	f.StringVar(&o.fix.bagged, "bagged", "", "with fix: the `DAY` it was bagged, or none")
	f.StringVar(&o.fix.emasculated, "emasculated", "", "with fix: the `DAY` its own pollen was kept out, or none")
	f.StringVar(&o.fix.dry, "dried", "", "with fix: the `DAY` its stigmas were dry, or none")
	f.StringVar(&o.fix.harvested, "harvested", "", "with fix: the `DAY` it was harvested, or none")
	f.StringVar(&o.fix.lost, "gone", "", "with fix: the `DAY` it was lost, or none")
	f.StringSliceVar(&o.fix.pollinated, "pollinated", nil, "with fix: `DAYS` on which it was pollinated too")
	f.StringSliceVar(&o.fix.notPollinated, "not-pollinated", nil, "with fix: `DAYS` on which it was not pollinated")
	o.out.AddFlags(cmd)
	return cmd
}

func (a *app) head(cmd *cobra.Command, args []string, o *headOptions) error {
	ctx := cmd.Context()
	step := strings.ToLower(args[len(args)-1])
	names := args[:len(args)-1]
	steps := []string{}
	for _, s := range book.HeadSteps {
		steps = append(steps, string(s))
	}
	steps = append(steps, "fix", "remove")
	switch {
	case !slices.Contains(steps, step):
		return cli.Usagef("put what was done last: hueward head %s %s", strings.Join(args, " "), strings.Join(steps, "|"))
	case len(names) == 0:
		return cli.Usagef("name the head, such as: hueward head M-07-1 %s", step)
	case step == "remove":
		return a.WithBook(ctx, func(b *book.Book) error { return a.remove(ctx, b, "head", names) })
	case step == "fix":
		return a.headFix(cmd, names, o)
	}
	for _, flag := range [...]string{"bagged", "emasculated", "dried", "harvested", "gone", "pollinated", "not-pollinated"} {
		if cmd.Flags().Changed(flag) {
			return cli.Usagef("--%s goes with fix: hueward head %s fix --%s …", flag, names[0], flag)
		}
	}
	if cmd.Flags().Changed("seeds") && step != string(book.HeadHarvest) {
		return cli.Usagef("--seeds goes with harvest or fix")
	}
	on, err := a.Day("on", o.on)
	if err != nil {
		return err
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	season, err := garden.SeasonOn(ctx, b, o.season, on, a.Now())
	if err != nil {
		return err
	}
	heads, odd, err := b.DoHeads(ctx, book.HeadDone{Heads: names, Step: book.HeadStep(step), On: on,
		Seeds: cli.CountFlag(cmd, "seeds", o.seeds), Cross: o.cross, Season: season, Note: o.note})
	if err != nil {
		return err
	}
	if step == string(book.HeadHarvest) {
		doubts, err := garden.HeadDoubts(ctx, b, heads)
		if err != nil {
			return err
		}
		odd = append(odd, doubts...)
	}
	if step == string(book.HeadPollinate) {
		doubts, err := garden.PollinateDoubts(ctx, b, heads, on)
		if err != nil {
			return err
		}
		odd = append(odd, doubts...)
	}
	for _, s := range odd {
		a.Warn("%s", s)
	}
	for _, h := range heads {
		a.tellHead(h)
	}
	if step == string(book.HeadHarvest) {
		open, err := garden.OpenAdvice(ctx, b, heads)
		if open != "" {
			a.Stdout.Say("", strings.ToUpper(open[:1])+open[1:]+".")
		}
		return err
	}
	if step != string(book.HeadPollinate) {
		return nil
	}
	risk, err := garden.SelfRisk(ctx, b, heads)
	if len(risk) > 0 {
		a.Warn("own pollen of %s was not kept out, so some of the offspring will be selfs; if it was: hueward head %s emasculate",
			strings.Join(risk, ", "), strings.Join(risk, " "))
	}
	return err
}

func (a *app) headFix(cmd *cobra.Command, names []string, o *headOptions) error {
	if len(names) != 1 {
		return cli.Usagef("correct one head at a time")
	}
	fix := book.HeadFix{Cross: cli.TextFix(cmd, "cross", o.cross), Note: cli.TextFix(cmd, "note", o.note),
		Seeds: cli.CountFlag(cmd, "seeds", o.seeds)}
	for flag, to := range map[string]struct {
		text string
		day  **time.Time
	}{"bagged": {o.fix.bagged, &fix.Bagged}, "emasculated": {o.fix.emasculated, &fix.Emasculated}, "dried": {o.fix.dry,
		&fix.StigmasDry}, "harvested": {o.fix.harvested, &fix.Harvested},
		"gone": {o.fix.lost, &fix.Lost}} {
		d, err := a.DayFix(cmd, flag, to.text)
		if err != nil {
			return err
		}
		*to.day = d
	}
	for flag, to := range map[string]struct {
		texts []string
		days  *[]time.Time
	}{"pollinated": {o.fix.pollinated, &fix.Pollinated}, "not-pollinated": {o.fix.notPollinated, &fix.NotPollinated}} {
		for _, s := range to.texts {
			d, err := a.Day(flag, s)
			if err != nil {
				return err
			}
			*to.days = append(*to.days, d)
		}
	}
	return a.WithBook(cmd.Context(), func(b *book.Book) error {
		h, err := b.FixHead(cmd.Context(), names[0], fix)
		if err != nil {
			return err
		}
		doubts, err := garden.HeadDoubts(cmd.Context(), b, []book.Head{*h})
		for _, d := range doubts {
			a.Warn("%s", d)
		}
		a.tellHead(*h)
		return err
	})
}

// tellHead tells of a head, and of its plant where that was renamed since its tag was written.
func (a *app) tellHead(h book.Head) {
	of := ""
	if !strings.HasPrefix(naming.Key(h.Name), naming.Key(h.Plant)) {
		of = " of " + h.Plant
	}
	fmt.Fprintf(a.Stdout, "%s%s  %s\n", h.Name, of, compose.HeadWords(h))
}

// headJSON is one head of "head --json".
type headJSON struct {
	Head       string   `json:"head"`
	Plant      string   `json:"plant"`
	Cross      string   `json:"cross"`
	Season     string   `json:"season"`
	Bagged     string   `json:"bagged"`
	Pollinated []string `json:"pollinated"`
	StigmasDry string   `json:"stigmas_dry"`
	Harvested  string   `json:"harvested"`
	Seeds      *int     `json:"seeds"`
	Lost       string   `json:"lost"`
	Note       string   `json:"note"`
	// Emasculated is when its own pollen was kept out.
	Emasculated string `json:"emasculated"`
}

func (a *app) heads(ctx context.Context, b *book.Book, o *headOptions) (err error) {
	season := o.season
	if season == "" && !o.all && o.plant == "" {
		if season, err = garden.SeasonNow(ctx, b, "", a.Now()); err != nil {
			return err
		}
	}
	plants, err := plantsNamed(ctx, b, o.plant)
	if err != nil {
		return err
	}
	found, err := b.Heads(ctx, season)
	if err != nil {
		return err
	}
	list := []headJSON{}
	var table [][]string
	for _, h := range found {
		if plants != nil && !slices.Contains(plants, h.Plant) {
			continue
		}
		j := headJSON{h.Name, h.Plant, h.Cross, h.Season, words.Day(h.Bagged), []string{}, words.Day(h.StigmasDry), words.Day(h.Harvested),
			h.Seeds, words.Day(h.Lost), h.Note, words.Day(h.Emasculated)}
		for _, d := range h.Pollinated {
			j.Pollinated = append(j.Pollinated, words.Day(d))
		}
		list = append(list, j)
		table = append(table, []string{j.Head, j.Cross, compose.HeadWords(h), j.Note})
	}
	return a.Stdout.List(&o.out, terminal.Listing{Items: list, Table: table, None: "No heads.",
		Columns: []terminal.Column{{Head: "head"}, {Head: "cross"}, {Head: "how far", Words: true}, {Head: "note", Words: true}}})
}

// plantsNamed are the plants that a flag of a listing names; nil: it was not given.
func plantsNamed(ctx context.Context, b *book.Book, typed string) ([]string, error) {
	if typed == "" {
		return nil, nil
	}
	return b.Which(ctx, []string{typed})
}
