package watch

import "golang.org/x/sys/windows"

// room returns how many bytes this program may still write on the disk of a folder.
func room(dir string) (int64, error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(name, &free, nil, nil); err != nil {
		return 0, err
	}
	return int64(free), nil
}
