// Package book keeps a grower's breeding book: one folder with a database of
// lines, seasons, plants, photos and readings, and a copy of every photo.
//
//	book.db    SQLite; its tables are described in sqlite/migrations/*.sql
//	photos/    originals, as photos/<season>/<plant>/<name>, never changed
//	backups/   safe copies of book.db
//
// Start with [Create], [Open] or [Find], then [Book.Record] each measured photo. A Book may be used from several
// goroutines, and several programs may have the same book open: writers wait for each other.
//
// What the user entered is never overwritten by measuring again: each measurement adds a reading, and the newest
// counts. A photo is known by its content, so the same photo is kept once whatever it is called.
//
// # Tables
//
// Any SQLite tool may read the book; every column is described in sqlite/migrations.
//
//	line, target, season       lines; what they are bred for, the newest row counts
//	plant, founder_group       plants with parents and founder facts; where founders came from
//	photo, reading             photos by their sha256; a row for each measurement of one,
//	                           or by an instrument: the newest counts
//	camera_model               one phone's colours; readings say which they were made with
//	cross, head, pollination   the season's records, with packet, packet_head,
//	                           germination_test, sowing, seed_out and pollen
//	trait, score               what plants are scored on, and how
//	crop, crop_value, setting  crops and values of the grower's own; the last frost
//	change, changed_row        who changed what and when, and the rows as they were;
//	                           change_now is the change that is being made
//	request                    what devices sent, by which a repeat is known and does nothing
//	counting_reading           a view: the readings that count, with plant, line, season
//
// A correction by hand (card, bloom, strokes) is in its reading's column correction, as JSON, and is used when the
// photo is measured again. Outlines are SVG path data (package pathdata); books made earlier hold the points, which are
// read, too. Readings and changes carry a sum of their columns, by which a flipped bit is noticed. The generation of a
// plant is not kept: it is worked out from the pedigree.
//
// # Changes
//
// Every writer of what the grower enters goes through [Book.Change] (change.go), which notes it in the table change;
// triggers put the rows as they were into changed_row, so that no writer can forget to, and [Book.Undo] puts them back.
// The transaction that a writer gets, a [record.Tx], keeps the first error and does nothing after it, so that writers
// go straight on. A change by a device that may send it again goes through [Book.Once]. Tables of what is measured note
// no row by themselves: their writers do ([record.Tx.NoteAdded], [record.Tx.Remove]). What is typed is looked up by
// [record.Find]: names that the book makes end in a check letter, which may be left out, but must fit where it is
// given; [Book.Which] knows ranges such as M-03..M-09.
//
// Package transfer takes all of it out as CSV and takes such tables
// in; package safety backs it up and looks at all of it.
//
// The package measures nothing and ranks nothing; see colorimg and selection.
package book
