package measure

import (
	"context"
	"fmt"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/words"
	"hueward/selection/book"

	"github.com/spf13/cobra"
)

func (a *app) photosRemoveCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "remove PHOTO…",
		Short: "Take photos out of the book",
		Long: `Take photos and their readings out of the book. If one of them is not in it, nothing
is changed. A photo is named by its number in "hueward photos", such as #17, or by
its file name. Its file stays in the book's folder; "hueward undo" brings it back.` + cli.ExitStatuses(""),
		Example: `  hueward photos remove '#1'`,
		Args:    cobra.MinimumNArgs(1),
		RunE: a.InBook(func(ctx context.Context, b *book.Book, args []string) error {
			ids, err := photoNumbers(ctx, b, args)
			if err != nil {
				return err
			}
			if err := b.RemovePhotos(ctx, ids...); err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.Stdout, "%s taken out of the book\n", words.Count(len(ids), "photo"))
			return err
		}),
	}
}

// photosOfNone says that photos show no known plant.
func (a *app) photosOfNone(ctx context.Context, b *book.Book, args []string) error {
	ids, err := photoNumbers(ctx, b, args)
	if err != nil {
		return err
	}
	if err := b.UnassignPhotos(ctx, ids...); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.Stdout, "%s of no plant\n", words.Count(len(ids), "photo"))
	return err
}

// photoNumbers are the numbers of the photos that were typed.
func photoNumbers(ctx context.Context, b *book.Book, args []string) ([]int64, error) {
	var ids []int64
	for _, arg := range args {
		p, err := b.FindPhoto(ctx, arg)
		if err != nil {
			return nil, err
		}
		ids = append(ids, p.ID)
	}
	return ids, nil
}
