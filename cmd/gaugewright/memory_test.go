package main

import "testing"

func TestShareOfTheMemory(t *testing.T) {
	for _, tt := range []struct {
		meminfo, group string
		want           int64
	}{
		{"MemTotal:        4194304 kB\nMemFree: 1 kB\n", "", 3 << 30},
		{"MemTotal:        4194304 kB\n", "max\n", 3 << 30},
		{"MemTotal:        4194304 kB\n", "1073741824\n", 768 << 20},
		{"", "", usualMemory / 4 * 3},
		{"MemTotal: much", "none", usualMemory / 4 * 3},
	} {
		if got := share(tt.meminfo, tt.group); got != tt.want {
			t.Errorf("%q %q: %d, want %d", tt.meminfo, tt.group, got, tt.want)
		}
	}
}

// TestGarbageOfALargePlant checks how much garbage may lie beside what is in use.
func TestGarbageOfALargePlant(t *testing.T) {
	for _, tt := range []struct {
		live uint64
		want int
	}{
		{0, 100}, {20 << 20, 100}, {64 << 20, 100}, {128 << 20, 50}, {256 << 20, 25}, {4 << 30, leastPercent},
	} {
		if got := percent(tt.live); got != tt.want {
			t.Errorf("%d MB: %d %%, want %d %%", tt.live>>20, got, tt.want)
		}
	}
}
