package record

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

type todayOptions struct {
	line, season, ics string
	day               time.Time
	made              time.Time // of a calendar
	days              int
	out               terminal.Output
}

func (a *app) todayCommand() *cobra.Command {
	o := &todayOptions{days: 3}
	cmd := &cobra.Command{
		Use:   "today",
		Short: "List what the garden needs today",
		Long: `List what the garden needs, the most urgent first: heads to bag before they open, to
pollinate again, to harvest; bags to keep on; packets to fill, dry and label;
germination tests to read; plants to count and to photograph. It goes by what was
noted and by the crop's usual times: see "hueward crops". The flower has the last
word.

--ics writes a calendar file for a phone: read in again later, it moves its entries
instead of adding them twice.` + cli.ExitStatuses(""),
		Example: `  hueward today
  hueward today --days 14 --ics garden.ics`,
		RunE: a.InBook(func(ctx context.Context, b *book.Book, _ []string) error { return a.todayTasks(ctx, b, o) }),
	}
	f := a.Flags(cmd)
	f.Check(func([]string) error {
		o.day, o.made = a.Today(), a.Now()
		return nil
	})
	f.IntVar(&o.days, "days", o.days, "also list what is due in the next `N` days")
	f.StringVar(&o.line, "line", "", "only the line `NAME`")
	f.StringVar(&o.season, "season", "", "the `SEASON` (default: that of the day)")
	f.Given("on", "the `DAY`, also one to come: 2026-07-14 (default: today)", func(s string) (err error) {
		o.day, err = a.AnyDay("on", s)
		o.made = o.day
		return err
	})
	f.Output(&o.ics, "ics", "", "write a calendar `FILE.ics`, or to standard output with -", cli.Calendar)
	o.out.AddFlags(cmd)
	terminal.Exclusive(cmd, "ics", "json", "csv")
	f.Check(func([]string) error {
		if o.days < 0 || o.days > 3650 {
			return cli.Usagef("--days %d: want 0 to 3650", o.days)
		}
		return nil
	})
	return cmd
}

func (a *app) todayTasks(ctx context.Context, b *book.Book, o *todayOptions) (err error) {
	if o.line, err = garden.LineFilter(ctx, b, o.line); err != nil {
		return err
	}
	if o.season, err = garden.SeasonOn(ctx, b, o.season, o.day, a.Now()); err != nil {
		return err
	}
	g, err := garden.Work(ctx, b, o.season, o.day)
	if err != nil {
		return err
	}
	tasks := calendar.Due(g, o.day, o.days)
	tasks = slices.DeleteFunc(tasks, func(t calendar.Task) bool { return o.line != "" && t.Line != o.line })
	a.adviseCrops(tasks, g)
	if o.ics != "" {
		return a.writeICS(ctx, b, o, tasks)
	}
	return a.tellTasks(o, tasks)
}

// adviseCrops says once which lines have no crop yet.
func (a *app) adviseCrops(tasks []calendar.Task, g *calendar.Garden) {
	var without []string
	for _, t := range tasks {
		if _, ok := g.Crops[t.Line]; !ok && t.Line != "" && !slices.Contains(without, t.Line) {
			without = append(without, t.Line)
		}
	}
	for _, line := range without {
		a.Warn("the crop of line %s is not set, so its days are a guess; set it: hueward crops line %q CROP", line, line)
	}
}

func (a *app) writeICS(ctx context.Context, b *book.Book, o *todayOptions, tasks []calendar.Task) error {
	id, err := b.Identity(ctx)
	if err != nil {
		return err
	}
	write := func(w io.Writer) error {
		return calendar.WriteICS(w, calendar.File{Book: id, Made: o.made, Do: hints.Done}, tasks)
	}
	if toFile, err := a.Output(o.ics, cli.Calendar, write); err != nil || !toFile {
		return err
	}
	n := 0
	for _, t := range tasks {
		n += len(t.Subjects)
	}
	return a.Tell(nil, "%s: %s\n", o.ics, words.Count(n, "entry"))
}

func (a *app) tellTasks(o *todayOptions, tasks []calendar.Task) error {
	tasks, day := calendar.Grouped(tasks), o.day
	if !o.out.People() {
		l := terminal.Listing{Fields: "kind,subjects,line,urgency,due,until,text,do,place"}
		for _, t := range tasks {
			l.Add(t.Kind, t.Subjects, t.Line, t.Urgency, t.Due, t.Until, t.Text, hints.Done(t), t.Place())
		}
		return a.Stdout.List(&o.out, l, nil)
	}
	fmt.Fprintln(a.Stdout, day.Format("Monday, 2 January 2006"))
	if len(tasks) == 0 {
		fmt.Fprintln(a.Stdout, "\nNothing is due.")
		return nil
	}
	heads := map[calendar.Urgency]string{calendar.Overdue: "Overdue", calendar.Today: "Today", calendar.Soon: "Soon",
		calendar.Watch: "Leave as it is"}
	last := calendar.Urgency("")
	for _, t := range tasks {
		if t.Urgency != last {
			last = t.Urgency
			fmt.Fprintf(a.Stdout, "\n%s\n", heads[last])
		}
		when := ""
		switch {
		case t.Urgency == calendar.Overdue:
			when = " (by " + words.Day(t.Until) + ")"
		case t.Urgency == calendar.Soon:
			when = " (from " + words.Day(t.Due) + ")"
		case t.Urgency == calendar.Today && t.Until.After(day):
			when = " (until " + words.Day(t.Until) + ")"
		}
		a.Stdout.Say("    ", "  "+subjects(t.Where())+": "+t.Text+when)
		if do := hints.Done(t); do != "" && t.Urgency != calendar.Soon {
			a.Stdout.Say("        ", "    "+do)
		}
	}
	return nil
}

// subjects names them, the middle of a long list left out.
func subjects(names []string) string {
	if len(names) > 8 {
		return fmt.Sprintf("%s … %s (%d)", strings.Join(names[:3], ", "), names[len(names)-1], len(names))
	}
	return strings.Join(names, ", ")
}
