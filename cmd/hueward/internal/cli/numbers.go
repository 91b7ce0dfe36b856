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
	var takes []string
	for _, word := range strings.Fields(use)[1:] {
		if strings.HasPrefix(word, "--") {
			break
		}
		takes = append(takes, word)
		if optional += strings.Count(word, "["); optional == 0 {
			least++
		}
		most++
		optional -= strings.Count(word, "]")
	}
	if most == 0 {
		return cobra.NoArgs
	}
	if strings.Contains(use, "…") {
		most = math.MaxInt
	}
	return func(cmd *cobra.Command, args []string) error {
		n := len(args)
		if n >= least && n <= most {
			return nil
		}
		given := fmt.Sprintf("%d were given", n)
		if n < 2 {
			given = [2]string{"nothing was given", "only 1 was given"}[n]
		}
		_, name, _ := strings.Cut(cmd.CommandPath(), " ")
		return fmt.Errorf("%s takes %s, and %s", name, strings.Join(takes, " "), given)
	}
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
