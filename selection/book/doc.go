// Package book keeps a grower's breeding book: one folder with a database of
// lines, seasons, plants, photos and readings, and a copy of every photo.
//
//	book.db    SQLite; its tables are described in sqlite/migrations/*.sql
//	photos/    originals, as photos/<season>/<plant>/<name>, never changed
//	backups/   safe copies of book.db
//
// Start with [Create], [Open] or [Find], then [Book.Record] each measured
// photo. A Book may be used from several goroutines, and several programs may
// have the same book open: writers wait for each other.
//
// What the user entered is never overwritten by measuring again: each
// measurement adds a reading, and the newest counts. A photo is known by its
// content, so the same photo is kept once whatever it is called.
//
// Package transfer takes all of it out as CSV and takes such tables
// in; package safety backs it up and looks at all of it.
//
// The package measures nothing and ranks nothing; see colorimg and selection.
package book
