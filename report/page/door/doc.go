// Package door decides who may use the book's page: which host names the server answers
// to, which device a request comes from, and how a device is recognised.
//
// Start with [New]; [Door.Of] then returns the device of each request. Browsers on this machine are let in by
// themselves, if they use a host name that only this machine has. Browsers on other machines need a code, valid for one
// device ([Door.Pair]), which they exchange for a cookie. Pairings are stored in a file in the book's folder that only its
// owner can read; it holds the cookies' hashes, not the cookies. Browsers on this machine are not in the file: they are
// recognised by their cookie and the file's key, also after a restart of the server.
//
// A request caused by another site's page creates no device and gets no cookie. The browser
// does not send its cookie with it either (SameSite=Strict, RFC 6265bis section 5.6.7.1), so it must not
// be taken for a browser without one: the answer is [Elsewhere].
package door
