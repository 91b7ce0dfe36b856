package cli

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hueward/selection/written"
)

// PlainFlags lets every flag of root and the commands below it that takes a number take it as people write it (3,5),
// and says in plain words what is wrong with a value. Each command takes as many arguments as its first line of help
// says, where nothing else was said. It is called once all commands are there.
func PlainFlags(root *cobra.Command) {
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		var e *pflag.InvalidValueError
		if !errors.As(err, &e) {
			return err
		}
		want := map[string]string{"int": "a whole number", "float64": "a number", "uint64": "a whole number of 0 or more",
			"bool": "true or false"}
		if w := want[e.GetFlag().Value.Type()]; w != "" {
			return fmt.Errorf("--%s %s: want %s", e.GetFlag().Name, strconv.Quote(e.GetValue()), w)
		}
		return fmt.Errorf("--%s %s cannot be understood", e.GetFlag().Name, strconv.Quote(e.GetValue()))
	})
	var visit func(cmd *cobra.Command)
	visit = func(cmd *cobra.Command) {
		if cmd.Args == nil {
			cmd.Args = argsOf(cmd.Use)
		}
		for _, set := range [2]*pflag.FlagSet{cmd.Flags(), cmd.PersistentFlags()} {
			set.VisitAll(func(f *pflag.Flag) {
				if _, done := f.Value.(*number); !done && (f.Value.Type() == "float64" || f.Value.Type() == "int") {
					f.Value = &number{f.Value}
				}
			})
		}
		for _, c := range cmd.Commands() {
			visit(c)
		}
	}
	visit(root)
}

// argsOf reads how many arguments a command takes: ID, [ID], or with … any number of them; a flag ends them.
func argsOf(use string) cobra.PositionalArgs {
	least, most, optional := 0, 0, 0
	for _, word := range strings.Fields(use)[1:] {
		if strings.HasPrefix(word, "--") {
			break
		}
		if optional += strings.Count(word, "["); optional == 0 {
			least++
		}
		most++
		optional -= strings.Count(word, "]")
	}
	switch {
	case strings.Contains(use, "…"):
		return cobra.MinimumNArgs(least)
	case most == 0:
		return cobra.NoArgs
	case least == most:
		return cobra.ExactArgs(most)
	}
	return cobra.MaximumNArgs(most)
}

// number is a flag's value that may be written as people do.
type number struct{ pflag.Value }

// Set implements [pflag.Value].
func (n *number) Set(s string) error {
	v, err := written.Number(s)
	switch {
	case err != nil:
		return err
	case n.Type() == "float64":
		return n.Value.Set(strconv.FormatFloat(v, 'g', -1, 64))
	case v != math.Trunc(v) || math.Abs(v) > math.MaxInt32 || strings.ContainsAny(s, ".,eE"):
		return errors.New("not a whole number")
	}
	return n.Value.Set(strconv.FormatInt(int64(v), 10))
}
