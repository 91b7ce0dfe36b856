package choose

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/photoflag"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

type targetOptions struct {
	photoflag.Flags
	lab, hex, photo string
	second          string
	within          float64
	hold            bool
	out             terminal.Output
}

func (a *app) targetCommand() *cobra.Command {
	o := &targetOptions{}
	cmd := &cobra.Command{
		Use:   "target [LINE]",
		Short: "Set or show the shade that a line is bred for",
		Long: `Set the shade that a line is moved toward or, with --hold, held true at; a new line
is started. Only what you give is changed; tolerance and aim otherwise stay as they
were. Without flags, show the target of the line, or of all lines.

The surest shade is one measured from a photo taken like those of the plants: what
the camera does to colours is then the same on both sides.` + cli.ExitStatuses(""),
		Example: `  hueward target "buff apricot" --lab 76,14,38 --within 4
  hueward target "buff apricot" --photo photo.jpg
  hueward target "old cosmos" --hex "#d9a3c7" --hold
  hueward target`,
		ValidArgsFunction: a.CompleteLine,
		RunE: a.Do(func(cmd *cobra.Command, args []string) error {
			name := ""
			if len(args) > 0 {
				if name = strings.TrimSpace(args[0]); name == "" {
					return cli.Usagef("the line's name is empty")
				}
			}
			return a.target(cmd, name, o)
		}),
	}
	f := a.Flags(cmd)
	f.StringVar(&o.lab, "lab", "", "the shade as `L,a,b` (D65, 2 degree observer)")
	f.StringVar(&o.hex, "hex", "", "the shade as a screen colour, `#rrggbb`")
	f.StringVar(&o.photo, "photo", "", "the shade of the bloom in `FILE`, measured as measure does")
	f.Float64Var(&o.within, "within", 0, "the tolerance in `DELTA-E` 2000 (default: as before, or 3)")
	f.StringVar(&o.second, "second", "",
		"the shade of the second colour of striped or edged petals, as `L,a,b`;\nnone: only one colour counts again")
	f.BoolVar(&o.hold, "hold", false, "hold the line true at the shade, rather than move it there; --hold=false moves it again")
	terminal.Exclusive(cmd, "lab", "hex", "photo")
	o.Flags.AddFlags(f, cmd)
	o.out.AddFlags(cmd)
	return cmd
}

func (a *app) target(cmd *cobra.Command, name string, o *targetOptions) error {
	ctx, set := cmd.Context(), cmd.Flags().Changed
	if set("within") && !(o.within >= book.LeastWithin && o.within <= book.MostWithin) {
		return cli.Usagef("--within %g: want a tolerance in Delta E, from %g to %d, such as 4", o.within, book.LeastWithin, book.MostWithin)
	}
	for _, f := range photoflag.Names {
		if set(f) && !set("photo") {
			return cli.Usagef("--%s goes with --photo", f)
		}
	}
	t := book.Target{Source: "--lab"}
	shade, err := true, error(nil)
	var opt *colorimg.Options
	switch {
	case set("lab"):
		t.Lab, err = cie.ParseLab(o.lab)
	case set("hex"):
		t.Source = "--hex"
		t.Lab, err = cie.ParseHex(o.hex)
	case set("photo"):
		opt, err = o.Options()
	default:
		shade = false
	}
	var second *cie.Lab
	if err == nil && set("second") && o.second != "none" {
		var c cie.Lab
		if c, err = cie.ParseLab(o.second); err == nil {
			second = &c
		}
	}
	if err != nil {
		return cli.Usagef("%w", err)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	if !shade && !set("within") && !set("hold") && !set("second") {
		return a.showTargets(ctx, b, name, o)
	}
	line, err := garden.LineNamed(ctx, b, name)
	switch {
	case name == "" && err != nil:
		return err
	case err == nil:
		name = line.Name
	case !shade || !isNewLine(ctx, b, name):
		return err
	}
	if opt != nil {
		if opt.Cameras, err = compose.Cameras(ctx, b); err != nil {
			return err
		}
		if err := a.targetPhoto(ctx, &t, o.photo, opt); err != nil {
			return err
		}
	}
	t.Aim, t.Within = book.Move, selection.DefaultWithin
	if line != nil && line.Target != nil {
		old := *line.Target
		t.Aim, t.Within, t.Second = old.Aim, old.Within, old.Second
		if !shade {
			t.Lab, t.Source, t.Measured = old.Lab, old.Source, old.Measured
		}
	} else if !shade {
		return fmt.Errorf("line %s has no shade yet; give it too: --lab L,a,b, --hex or --photo", name)
	}
	if set("within") {
		t.Within = o.within
	}
	if set("second") {
		t.Second = second
	}
	if set("hold") {
		t.Aim = book.Move
		if o.hold {
			t.Aim = book.Hold
		}
	}
	if err := b.SetTarget(ctx, name, t); err != nil {
		return err
	}
	return a.showTargets(ctx, b, name, o)
}

// isNewLine reports whether the book is sound and has no line of that name.
func isNewLine(ctx context.Context, b *book.Book, name string) bool {
	_, err := b.Line(ctx, name)
	return errors.Is(err, book.ErrNotFound)
}

// targetPhoto measures the shade.
func (a *app) targetPhoto(ctx context.Context, t *book.Target, file string, opt *colorimg.Options) error {
	r, err := colorimg.Measure(ctx, file, opt)
	if refused := (*colorimg.RefusedError)(nil); errors.As(err, &refused) {
		return errors.New(hints.Refusal(refused))
	}
	if err != nil {
		return err
	}
	t.Lab, t.Source, t.Measured = r.Lab.Lab(), "photo "+filepath.Base(file), r.Card.Found
	if r.Status != colorimg.OK {
		a.Warn("%s: to be checked: %s", file, hints.Photo.Reason(r))
	}
	return nil
}

func (a *app) showTargets(ctx context.Context, b *book.Book, name string, o *targetOptions) error {
	lines, err := b.Lines(ctx)
	if err != nil {
		return err
	}
	if name != "" {
		l, err := garden.LineNamed(ctx, b, name)
		if err != nil {
			return err
		}
		lines = []book.Line{*l}
	}
	l := terminal.Listing{Fields: "line,aim,target,hex,name,set_at,plants,second",
		CSV:  "line,aim,L,a,b,within,hex,name,source,set_at,second_L,second_a,second_b",
		None: "No line yet; start one: hueward target LINE --lab L,a,b", Columns: []terminal.Column{{Of: "hex", Swatch: true},
			{Head: "line", Words: true}, {Head: "aim", Of: "for"}, {Head: "L*", Right: true}, {Head: "a*", Right: true}, {Head: "b*", Right: true},
			{Head: "hex"}, {Head: "name", Of: "names", Words: true}, {Head: "within", Right: true}}}
	for _, n := range lines {
		t := n.Target
		if t == nil {
			l.Add(n.Name, nil, nil, nil, nil, nil, n.Plants, nil).Also("for", "no target yet")
			continue
		}
		lab, both := t.Lab, cie.Name(t.Lab)
		if s := t.Second; s != nil {
			both += ", with " + cie.Name(*s)
		}
		i := l.Add(n.Name, t.Aim, terminal.Of("lab,within,source,measured", lab, t.Within, t.Source, t.Measured),
			lab.Hex(), cie.Name(lab), t.SetAt.Format(time.RFC3339), n.Plants, t.Second)
		i.Also("for", t.Aim, "L", words.Fixed(lab.L, 2), "a", words.Fixed(lab.A, 2), "b", words.Fixed(lab.B, 2), "L*", words.Fixed(lab.L, 1),
			"a*", words.Fixed(lab.A, 1), "b*", words.Fixed(lab.B, 1), "names", both, "within", t.Within, "source", t.Source)
		if s := t.Second; s != nil {
			i.Also("second_L", words.Fixed(s.L, 2), "second_a", words.Fixed(s.A, 2), "second_b", words.Fixed(s.B, 2))
		}
	}
	return a.Stdout.List(&o.out, l, nil)
}
