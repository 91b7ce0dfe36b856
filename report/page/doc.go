// Package page serves the breeding book as a web page on the grower's own machine and,
// where that is asked for, to the phones in the garden.
//
// Start with [New] and [Server.Serve]. Every page is plain HTML that works without a
// script. Scripts add progress of many photos, correcting by touch, and
// changes by other devices that appear by themselves. No other machine is contacted.
//
// # Who may come in
//
// A request is answered if its Host is the address that is served and, from another machine, if its device was
// paired: a code, valid for one device, is shown in the terminal and on the page of devices, and exchanged for a cookie
// (see package door). A script of a device that is not paired gets status 401; a person is asked for the code. A request
// that changes the book must come from a page of this server, according to the browser (see [http.CrossOriginProtection])
// and to a token in the form. The connection is not encrypted: use it only in a network of people you know.
//
// The content security policy allows scripts and styles from this server only; style attributes carry measured
// colours. Pictures are encoded again from pixels, so that no EXIF data of a photo leaves the book. Each device changes the
// book under its own name, and its undo takes back exactly its own change or nothing.
//
// # Entering things once
//
// What a script enters is stored on the device, in IndexedDB, until the server has confirmed it (assets/waiting.js),
// and is sent again until then. Each entry carries an id that the book notes in the same transaction as the
// entry (see [book.Book.Once]), so that a repetition changes nothing and gets the first answer. Plain forms
// carry such an id, too, so that a second touch enters nothing. A list is entered part by part, each part once.
// An entry that had to wait carries how long it waited, and is noted for the day on which it was entered.
//
// A form that was refused is shown again with what was typed (package refill). A photo
// whose tag names another plant than was typed is kept without a plant, and the page asks.
//
// # Caching
//
// Plants are ranked once, and the ranking is kept until a change that it depends on; decisions and notes are not. Crosses,
// and the plants held for them, are chosen again after each change. After other changes, and at the start, the list that
// was looked at last is worked out before somebody asks for it. Each device listens to /live, where the book's version is
// sent after each form, and, for changes by commands, every two seconds. A page that is being typed into is not replaced;
// it says that there is something new.
package page
