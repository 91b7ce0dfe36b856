// Package page serves the breeding book as a web page on the grower's own machine and,
// where that is asked for, to the phones in the garden.
//
// Start with [New] and [Server.Serve]. Every page is plain HTML that works without a
// script; the scripts add to it: progress of many photos, correcting by touch, and what
// another device added showing up by itself. Nothing is asked of any other machine.
//
// # Who may come in
//
// A request is answered where its Host is the address that is served, and, from another machine, where its device was
// paired: a code, good for one device, is shown in the terminal and on the page of devices, and exchanged for a cookie
// (see package door). A script of a device that is not let in gets status 401; a person is asked for the code. What
// changes the book must come from a page of this server, by the browser's own word (see [http.CrossOriginProtection])
// and by a token in the form. The connection is not encrypted: it belongs in a network whose people one knows.
//
// The content security policy allows scripts and styles from this server alone; style attributes carry measured
// colours. Pictures are made anew from pixels: nothing of a photo's EXIF leaves the book. Each device changes the book
// under its own name, and its undo takes back that very change or nothing.
//
// # What is entered once
//
// What a script enters waits on the device, in IndexedDB, until the server has said that it has it (assets/waiting.js);
// it is sent as often as that takes. Each thing carries an id that the book notes in one transaction with what it
// enters (see [book.Book.Once]), so that a repeat does nothing and is answered with what was done then. Plain forms
// carry such an id, too: a second touch enters nothing. A list is entered part by part, each once.
//
// A form that could not be taken is shown again with what was typed (package refill). A photo
// whose tag names another plant than was typed is kept without one, and asks.
//
// # What is worked out when
//
// Plants are ranked once for each version of the book, which outlives a decision or a note; which of them are crossed,
// and so held for a cross, is decided anew after each. After another change, and at the start, the list that was looked
// at last is worked out before somebody asks. A device listens to /live; after each form, and every two seconds for
// changes by commands, the book's version is sent to all. A page that is being typed into is not replaced: it says that
// there is something new.
package page
