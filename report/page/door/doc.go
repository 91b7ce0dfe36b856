// Package door decides who may come in to the book's page: which names the server answers
// to, which device a request comes from, and by what it is known.
//
// Start with [New]; [Door.Of] then tells the device of each request. Whoever uses this machine comes in by itself,
// under a name that no other machine has. Another machine's browser comes in by a code, good for one device
// ([Door.Pair]), which it exchanges for a cookie. Pairings are kept in a file of the book's folder that its owner alone
// can read: they hold the cookies' sums, not the cookies. A browser of this machine keeps nothing there: what it is
// known by follows from its cookie and the file's key, and stays the same when the server is started anew.
//
// A request that another site's page caused makes no device and gets no cookie. A cookie
// is not shown on it either (SameSite=Strict, RFC 6265bis section 5.6.7.1), which must not
// be taken for a browser that has none: [Elsewhere] says so.
package door
