package main

import (
	"context"
	"math"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
	"strings"
	"time"
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

const (
	// mostGarbage is how much may be thrown away before it is collected, and leastPercent how much
	// of what is in use at least: below that, collecting takes too much of the processor.
	mostGarbage  = 64 << 20
	leastPercent = 15
	usualPercent = 100
)

// collect keeps the garbage of a large plant's lists within bounds, until ctx is done: without it
// a program that uses 400 MB would take 800. GOGC overrides it.
func collect(ctx context.Context) {
	if os.Getenv("GOGC") != "" {
		return
	}
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	for now := usualPercent; ; {
		metrics.Read(live)
		if next := percent(live[0].Value.Uint64()); next < now*9/10 || next > now*11/10 {
			debug.SetGCPercent(next)
			now = next
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// percent is how much of the bytes in use may be garbage.
func percent(live uint64) int {
	return min(max(int(mostGarbage*100/max(live, 1)), leastPercent), usualPercent)
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
