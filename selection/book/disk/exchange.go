package disk

// Exchange gives each of two folders of one disk the other's name, in one moment. It is an
// [errors.ErrUnsupported] where the system cannot.
func Exchange(x, y string) error {
	return try1(OpRename, y, func() error { return exchange(x, y) })
}
