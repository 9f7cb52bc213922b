package main

import (
	"math"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
)

// usualMemory is assumed for a machine that does not report its memory.
const usualMemory = 2 << 30

// limitMemory makes the program collect its garbage sooner as it nears most of the machine's or its
// container's memory, so that a burst of large requests does not end it. GOMEMLIMIT overrides it.
func limitMemory() {
	if os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	meminfo, _ := os.ReadFile("/proc/meminfo")           // Linux; other systems get usualMemory
	group, _ := os.ReadFile("/sys/fs/cgroup/memory.max") // of a container
	debug.SetMemoryLimit(share(string(meminfo), string(group)))
}

// share is three quarters of the smaller of the machine's memory and the container's limit.
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
