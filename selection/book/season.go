package book

import (
	"context"
	"database/sql"
	"slices"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// Crosses returns the crosses of a season, or of all with "", in order of name.
func (b *Book) Crosses(ctx context.Context, season string) ([]Cross, error) {
	return record.Crosses(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Heads returns the heads of a season, or of all with "", in order of name.
func (b *Book) Heads(ctx context.Context, season string) ([]Head, error) {
	return record.Heads(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Packets returns the packets of a season, or of all with "", in order of name.
func (b *Book) Packets(ctx context.Context, season string) ([]Packet, error) {
	return record.Packets(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Sowings returns the sowings of a season, or of all with "", in order of name.
func (b *Book) Sowings(ctx context.Context, season string) ([]Sowing, error) {
	return record.Sowings(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Traits returns the traits in order of entry.
func (b *Book) Traits(ctx context.Context) ([]Trait, error) {
	list, err := record.Traits(ctx, b.from)
	for i := range list {
		if t := &list[i]; t.Better == "" { // of a book from before a usual trait said it
			if usual, ok := UsualTrait(t.Name); ok && slices.Equal(usual.Words, t.Words) {
				t.Better = usual.Better
			}
		}
	}
	return list, err
}

// Scores returns the scores that count, of a plant or of all with "", in order
// of plant and trait.
func (b *Book) Scores(ctx context.Context, plant string) ([]Score, error) {
	return record.Scores(ctx, b.from, plant)
}

// FounderGroups returns the groups in order of name.
func (b *Book) FounderGroups(ctx context.Context) ([]FounderGroup, error) {
	return record.FounderGroups(ctx, b.from)
}

// dayText is a date as it is stored; zero is NULL.
func dayText(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.Format(time.DateOnly)
}

// collect reads all rows with scan.
func collect[T any](ctx context.Context, b *Book, query string, args []any, scan func(rows *sql.Rows, v *T) error) ([]T, error) {
	return record.Collect(ctx, b.from, query, args, scan)
}
