package must

import "syscall"

// inMemory returns a folder in memory with room for what tests write, from which programs can be run; empty: there is none.
func inMemory() string {
	const dir, room, writable, noPrograms = "/dev/shm", 2 << 30, 2, 8 // access(2), statfs(2)
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil || s.Bavail*uint64(s.Bsize) < room || s.Flags&noPrograms != 0 {
		return ""
	}
	if syscall.Access(dir, writable) != nil {
		return ""
	}
	return dir
}
