// Package page serves the breeding book as a web page on the grower's own machine and,
// where that is asked for, to the phones in the garden.
//
// Start with [New] and [Server.Serve]. Every page is plain HTML that works without a
// script; the scripts add to it: progress of many photos, correcting by touch, and what
// another device added showing up by itself. Nothing is asked of any other machine.
//
// # Who may come in
//
// A request is answered where its Host is the address that is served, and, from
// another machine, where its device was paired: a code, good for one device, is shown in
// the terminal and on the page of devices, and exchanged for a cookie. What changes
// the book must come from a page of this server, by the browser's own word (see
// [http.CrossOriginProtection]) and by a token in the form. The connection is not
// encrypted: it belongs in a network whose people one knows.
package page
