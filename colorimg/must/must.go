// Package must ends a test where it cannot go on. It is for tests.
package must

// T is what runs a test, a benchmark, a fuzz target or a property.
type T interface {
	Helper()
	Fatal(args ...any)
}

// OK ends the test where err is an error.
func OK(t T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// Have is what a call returned beside its error, which ends the test where it is one: must.Have(os.Open(name))(t).
func Have[V any](v V, err error) func(T) V {
	return func(t T) V {
		t.Helper()
		OK(t, err)
		return v
	}
}
