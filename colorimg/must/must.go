// Package must ends a test that cannot go on: must.OK(t, err), must.Have(f())(t). It is for tests only.
package must

// T is the part of [testing.TB] that the package needs; a property test has it, too.
type T interface {
	Helper()
	Fatal(args ...any)
}

// OK ends the test unless err is nil.
func OK(t T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// Have returns the value of a call that may fail, and ends the test if it did: must.Have(os.Open(name))(t).
func Have[V any](v V, err error) func(T) V {
	return func(t T) V {
		t.Helper()
		OK(t, err)
		return v
	}
}
