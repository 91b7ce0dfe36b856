package safety

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// checkRows finds what SQLite does not: a name that is not found by its key any more, a day
// that is none, a plant that is a tuber or cutting of itself. A bit that flipped does that.
func checkRows(ctx context.Context, b *book.Book, _ *CheckOptions) (out []Finding, err error) {
	add := func(where, what string, args ...any) {
		out = append(out, Finding{where, fmt.Sprintf(what, args...), "put back a backup, or correct it", true, remedy.Step(remedy.Restore)})
	}
	err = b.Snapshot(ctx, func(c *sql.Conn) error {
		each := func(query string, f func(a, b string)) error {
			pairs, err := sqlite.Collect(ctx, c, query, nil, func(rows *sql.Rows, p *[2]sql.NullString) error { return rows.Scan(&p[0], &p[1]) })
			for _, p := range pairs {
				f(p[0].String, p[1].String)
			}
			return err
		}
		var columns [][2]string
		// The tables are those of a book: that was seen when it was opened.
		if err := each(`SELECT m.name, t.name FROM sqlite_schema m, pragma_table_info(m.name) t WHERE m.type = 'table' AND m.name <> 'change'
			AND (t.name = 'key' AND EXISTS (SELECT 1 FROM pragma_table_info(m.name) WHERE name = 'name')
				OR t.name LIKE '%\_on' ESCAPE '\' OR t.name IN ('day', 'good_until')) ORDER BY t.name <> 'key'`, func(table, column string) {
			columns = append(columns, [2]string{table, column})
		}); err != nil {
			return err
		}
		for _, t := range columns {
			what, column := strings.ReplaceAll(t[0], "_", " "), strings.ReplaceAll(t[1], "_", " ")
			query := fmt.Sprintf("SELECT name, key FROM %q", t[0])
			if column != "key" {
				query = fmt.Sprintf("SELECT id, %[2]q FROM %[1]q WHERE %[2]q IS NOT NULL", t[0], t[1])
			}
			if err := each(query, func(row, v string) {
				if column == "key" && naming.Key(row) != v {
					add(what+" "+row, "is not found by its name, but by %q", v)
				} else if _, err := time.Parse(time.DateOnly, v); column != "key" && err != nil {
					add(what+" "+row, "its %s, %q, is no day", column, v)
				}
			}); err != nil {
				return err
			}
		}
		return each(`SELECT p.name, r.name FROM plant p JOIN plant r ON r.id = p.clone_of_id WHERE r.clone_of_id IS NOT NULL`,
			func(name, of string) {
				add("plant "+name, "has the genes of %s, which has those of another itself", of)
			})
	})
	return out, err
}
