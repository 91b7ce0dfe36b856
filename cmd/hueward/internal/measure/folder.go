package measure

import (
	"context"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
	"hueward/selection/book"
)

// Folder measures a folder's photos into the book as the measure command does. What
// was measured is handed to tell; the refused are named on standard error and counted.
func Folder(ctx context.Context, run *cli.App, b *book.Book, dir, season string, tell func(*colorimg.Reading)) (refused int, err error) {
	a := &app{run}
	ins := collect([]string{dir}, a.Warn)
	o := &measureOptions{season: season}
	m := &measuring{app: a, o: o, jobs: jobsOf(ins, "", &colorimg.Options{})}
	if m.keeper, err = a.newKeeper(ctx, b, o, m.jobs, ins); err != nil {
		return 0, err
	}
	m.refuse = func(format string, args ...any) {
		refused++
		a.Warn(format, args...)
	}
	m.teller = tellerFunc(func(oc outcome) error {
		if oc.refused == nil {
			tell(oc.reading)
		}
		return nil
	})
	err = m.run(ctx, &colorimg.Options{})
	return refused, err
}
