package cli

import (
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book/naming"
	"hueward/selection/written"
)

// Flags are a command's flags. What is wrong with one of the kinds below is said before the command's work begins.
type Flags struct {
	*pflag.FlagSet
	app *App
	cmd *cobra.Command
}

// Flags are the flags of a command, to be added to.
func (a *App) Flags(cmd *cobra.Command) Flags { return Flags{cmd.Flags(), a, cmd} }

// Output is the flag -o, the file that a command writes, or "-" for standard output.
func (f Flags) Output(file *string, name, short, usage string, k Kind) {
	f.StringVarP(file, name, short, "", usage)
	f.Check(func([]string) error {
		if !f.Changed(name) {
			return nil
		}
		return f.app.CheckOutput(name, *file, k)
	})
}

// First takes a command's only argument, where there is one.
func (f Flags) First(to *string) {
	f.Check(func(args []string) error {
		if len(args) > 0 {
			*to = args[0]
		}
		return nil
	})
}

// Check lets f look at what was typed before the command's work begins; its error ends the command.
func (f Flags) Check(check func(args []string) error) {
	f.app.checks[f.cmd] = append(f.app.checks[f.cmd], check)
}

// Day is the day of what is noted, for example " it was made"; not given, today.
func (f Flags) Day(d *time.Time, name, of string) {
	s := f.String(name, "", "the `DAY`"+of+": "+DayForms+" (default: today)")
	f.Check(func([]string) (err error) {
		*d, err = f.app.Day(name, *s)
		return err
	})
}

// Days are several such days.
func (f Flags) Days(days *[]time.Time, name, usage string) {
	texts := f.StringSlice(name, nil, usage)
	f.Check(func([]string) error {
		for _, s := range *texts {
			d, err := f.app.Day(name, s)
			if err != nil {
				return err
			}
			*days = append(*days, d)
		}
		return nil
	})
}

// Count is a count; where it is not given, n stays nil.
func (f Flags) Count(n **int, name, usage string) {
	v := f.Int(name, -1, usage)
	f.Check(func([]string) error {
		if f.Changed(name) {
			*n = v
		}
		return nil
	})
}

// IDs are names of plants, of which a range stands for many.
func (f Flags) IDs(ids *[]string, name, usage string) {
	f.StringSliceVar(ids, name, nil, usage)
	f.Check(func([]string) (err error) {
		if *ids, err = naming.Spread(*ids); err != nil {
			return Usagef("--%s %w", name, err)
		}
		return nil
	})
}

// Given hands what the flag is given to read.
func (f Flags) Given(name, usage string, read func(s string) error) {
	s := f.String(name, "", usage)
	f.Check(func([]string) error {
		if !f.Changed(name) {
			return nil
		}
		return read(*s)
	})
}

// Not is s, and empty where s is the word for that: "none".
func Not(s string) string {
	if strings.EqualFold(strings.TrimSpace(s), "none") {
		return ""
	}
	return s
}

// TextFix is a corrected text, empty for none; where it is not given, to stays nil.
func (f Flags) TextFix(to **string, name, usage string) {
	f.Given(name, usage, func(s string) error {
		*to = new(Not(s))
		return nil
	})
}

// DayFix is a corrected day, zero for none; where it is not given, to stays nil.
func (f Flags) DayFix(to **time.Time, name, usage string) {
	f.Given(name, usage, func(s string) (err error) {
		*to = new(time.Time)
		if s = Not(s); s != "" {
			**to, err = f.app.Day(name, s)
		}
		return err
	})
}

// CountFix is a corrected count, -1 for none; where it is not given, to stays nil.
func (f Flags) CountFix(to **int, name, usage string) {
	f.Given(name, usage, func(s string) error {
		n := -1
		if Not(s) != "" {
			var err error
			if n, err = strconv.Atoi(s); err != nil || n < 0 {
				return Usagef("--%s %q: want a number, or none", name, s)
			}
		}
		*to = &n
		return nil
	})
}

// Corrects says that the command wants some of what fix holds, once all its flags are added.
func Corrects[T comparable](f Flags, fix *T) {
	f.Check(func([]string) error {
		if *fix == *new(T) {
			return Usagef("say what to correct; see %s --help", f.cmd.CommandPath())
		}
		return nil
	})
}

// DayForms are what a day may be written as.
const DayForms = written.DayForms

// Today is the garden's date: midnight UTC stands for it, as in the book.
func (a *App) Today() time.Time {
	y, m, d := a.Now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Order is that of day and month in 12/7/2026, by the user's locale: in flags and tables.
func (a *App) Order() written.Order {
	return written.OrderOf(func(name string) string { return terminal.Getenv(a.Env, name) })
}

// Day reads a day that the flag was given; empty is today. What is noted has happened, so a day to come is refused.
func (a *App) Day(flag, s string) (time.Time, error) { return a.day(flag, s, false) }

// AnyDay is [App.Day] of a day that may be one to come.
func (a *App) AnyDay(flag, s string) (time.Time, error) { return a.day(flag, s, true) }

func (a *App) day(flag, s string, ahead bool) (time.Time, error) {
	d, err := written.Days{Today: a.Today(), Order: a.Order(), Ahead: ahead}.Parse(s)
	if err != nil {
		return a.Today(), Usagef("--%s %w", flag, err)
	}
	return d, nil
}
