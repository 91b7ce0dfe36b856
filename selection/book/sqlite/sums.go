package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	sqldriver "database/sql/driver"
	"encoding/hex"
	"fmt"
	"strings"

	driver "modernc.org/sqlite"
)

// SQLite notices a page that is no page any more, but not a bit that flips inside of a
// number. So each reading and each change has a sum over what it says.

// summed are the columns of a reading that its sum is over, in this order for ever;
// row numbers are among them, as a reading must not wander to another photo.
var summed = strings.Fields(`photo_id plant_id season_id source measured_at method status reason l a b hex colour_name
	precision_de trueness_de se_l se_a se_b spread_l spread_a spread_b colours flags profile card_found card_corners
	gain_r gain_g gain_b cct ev petal_pixels petal_share bloom_x bloom_y outline camera_model card_kind diameter_px
	diameter_mm radial zones tag correction`)

// sumsVersion is the first version of a book with sums.
const sumsVersion = 4

// The sums as SQL. hueward_sum is known to this program alone, and no trigger or view
// uses it, so that every other reads the book as well.
var (
	readingSum = "hueward_sum(quote(" + strings.Join(summed, ") || ' ' || quote(") + "))"
	changeSum  = `hueward_sum(at || ' ' || quote(who) || ' ' || quote(what) || ' ' || quote(undoes) || ' ' || coalesce((SELECT group_concat(
		quote(tbl) || ' ' || row || ' ' || quote(before) || ' ' || quote(last), ';' ORDER BY id) FROM changed_row
			WHERE change_id = change.id), ''))`
)

func init() {
	driver.MustRegisterDeterministicScalarFunction("hueward_sum", 1, func(_ *driver.FunctionContext, args []sqldriver.Value) (sqldriver.Value,
		error) {
		s, _ := args[0].(string)
		sum := sha256.Sum256([]byte(s))
		return hex.EncodeToString(sum[:8]), nil
	})
}

// Statements that keep the sums: of readings with a number above one, of one reading, of one change.
var (
	SumReadings = "UPDATE reading SET sum = " + readingSum + " WHERE id > ?"
	SumReading  = "UPDATE reading SET sum = " + readingSum + " WHERE id = ?"
	SumChange   = "UPDATE change SET sum = " + changeSum + " WHERE id = ?"
)

// fillSums keeps the sums of a book that had none.
func fillSums(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, "UPDATE reading SET sum = "+readingSum+"; UPDATE change SET sum = "+changeSum)
	return err
}

// checkSums finds the readings and changes that are not what they were.
func checkSums(ctx context.Context, db *sql.DB) (found []string, err error) {
	for _, t := range [2]struct{ table, sum, what string }{
		{"reading", readingSum, "reading %d is not what was measured"}, {"change", changeSum, "the history's change %d is not what was entered"},
	} {
		ids, err := Column[int64](ctx, db, fmt.Sprintf("SELECT id FROM %q WHERE sum <> '' AND sum <> %s ORDER BY id LIMIT 20", t.table, t.sum))
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			found = append(found, fmt.Sprintf(t.what, id)+": the disk or a program changed it")
		}
	}
	return found, nil
}
