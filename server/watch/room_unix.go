//go:build unix

package watch

import "golang.org/x/sys/unix"

// room returns how many bytes this program may still write on the disk of a folder.
func room(dir string) (int64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}
