package document_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/calc/document"
)

// TestMoments compares with package time of the standard library, with and without fractions and in
// zones.
func TestMoments(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ms := rapid.Int64Range(-2208988800000, 253402300799999-86400000).Draw(rt, "ms")
		zone := time.FixedZone("", 60*rapid.IntRange(-23*60, 23*60).Draw(rt, "zone"))
		at := time.UnixMilli(ms).In(zone)
		if at.Year() < 1900 {
			rt.Skip("before the calendar begins here")
		}
		for _, layout := range []string{"2006-01-02T15:04:05.000Z07:00", "2006-01-02T15:04:05Z07:00", "2006-01-02T15:04:05.000000000Z07:00"} {
			s := at.Format(layout)
			want, err := time.Parse(time.RFC3339Nano, s)
			if err != nil {
				rt.Fatal(err)
			}
			if got, ok := document.ParseMoment(s); !ok || got != want.UnixMilli() {
				rt.Fatalf("%s: %d %v, want %d", s, got, ok, want.UnixMilli())
			}
		}
	})
}

func TestNoMoments(t *testing.T) {
	for _, s := range []string{"", "2026-11-25", "2026-11-25T14:30:00", "2026-02-29T00:00:00Z", "2026-11-25T24:00:00Z", "2026-11-25T14:30:00.Z",
		"2026-11-25T14:30:00+2:00", "2026-11-25 14:30:00Z", "2026-13-01T00:00:00Z", "2026-11-25T14:30:00ZZ", "+026-11-25T14:30:00Z", "2026-11-25T14:30:00+24:00"} {
		if ms, ok := document.ParseMoment(s); ok {
			t.Errorf("%q is taken for %d", s, ms)
		}
	}
}
