package main

import (
	"math"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
)

// usualMemory is what a machine is taken to have that does not say it.
const usualMemory = 2 << 30

// limitMemory lets the program collect its garbage sooner as it nears most of the machine's memory,
// or what its group is given, so that a burst of large requests does not end it. GOMEMLIMIT says
// otherwise.
func limitMemory() {
	if os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	meminfo, _ := os.ReadFile("/proc/meminfo")           // Linux; others have the usual
	group, _ := os.ReadFile("/sys/fs/cgroup/memory.max") // of a container
	debug.SetMemoryLimit(share(string(meminfo), string(group)))
}

// share is three quarters of the smaller of what a machine and a group of processes have.
func share(meminfo, group string) int64 {
	has := int64(math.MaxInt64)
	for line := range strings.Lines(meminfo) {
		if f := strings.Fields(line); len(f) >= 2 && f[0] == "MemTotal:" {
			if kb, err := strconv.ParseInt(f[1], 10, 64); err == nil && kb < has>>10 {
				has = kb << 10
			}
		}
	}
	if n, err := strconv.ParseInt(strings.TrimSpace(group), 10, 64); err == nil && n > 0 {
		has = min(has, n)
	}
	if has == math.MaxInt64 {
		has = usualMemory
	}
	return has / 4 * 3
}
