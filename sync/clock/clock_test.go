package clock_test

import (
	"strings"
	"testing"

	"gaugewright/sync/clock"

	"pgregory.net/rapid"
)

func stamp(t *rapid.T, name string) clock.Stamp {
	const years50 = 50 * 366 * 24 * 3600 * 1000
	return clock.Stamp{
		Count:  rapid.Uint64Range(0, 1<<40).Draw(t, name+" count"),
		Wall:   1_760_000_000_000 + rapid.Int64Range(-2*years50, 2*years50).Draw(t, name+" wall"),
		Device: rapid.StringMatching(`[0-9a-z]{1,8}`).Draw(t, name+" device"),
	}
}

func TestTextSortsAsStamps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := stamp(t, "a"), stamp(t, "b")
		if got, want := strings.Compare(a.String(), b.String()), clock.Compare(a, b); got != want {
			t.Fatalf("%s and %s: text %d, stamps %d", a, b, got, want)
		}
		back, err := clock.Parse(a.String())
		if err != nil || back != a {
			t.Fatalf("%v came back as %v, %v", a, back, err)
		}
	})
}

// TestNoClockDrags: a device 50 years ahead changes nobody else's wall time, and later changes
// still come after its change.
func TestNoClockDrags(t *testing.T) {
	const now, ahead = int64(1_760_000_000_000), int64(3_300_000_000_000)
	wrong := clock.Next(7, ahead, "phone")
	reply := clock.Next(wrong.Count, now, "office")
	if clock.Compare(wrong, reply) >= 0 {
		t.Error("the reply is not ordered after what it saw")
	}
	if reply.Wall != now {
		t.Errorf("the office's wall time became %d", reply.Wall)
	}
}

// TestHighestCountStopsNobody: after a forged stamp with the highest count, devices go on with
// stamps that can be written and read.
func TestHighestCountStopsNobody(t *testing.T) {
	s := clock.Next(clock.MaxCount, 5, "phone")
	back, err := clock.Parse(s.String())
	if err != nil || back != s || s.Count != clock.MaxCount {
		t.Errorf("%v came back as %v, %v", s, back, err)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, s := range []string{"", "x", "000000000001-000000000001", "000000000001-000000000001-", "00000000000G-000000000001-a", "00000000000A-000000000001-a"} {
		if got, err := clock.Parse(s); err == nil {
			t.Errorf("%q became %v", s, got)
		}
	}
}
