package history

import (
	"testing"
	"time"

	"gaugewright/calc/document"
)

// TestDaysAgainstTime: the standard library's calendar is the independent one.
func TestDaysAgainstTime(t *testing.T) {
	epoch := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
	for at := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2110; at = at.AddDate(0, 0, 1) {
		want := int(at.Sub(epoch).Hours() / 24)
		date := at.Format("2006-01-02")
		if n, ok := document.ParseDate(date); !ok || n != want || written(n) != date {
			t.Fatalf("%s: %d, %v, %s; want %d", date, n, ok, written(n), want)
		}
	}
	for _, s := range []string{"2023-02-29", "2023-13-01", "2023-00-10", "2023-1-01", "31.05.2024", "", "1899-12-31", "2024-05-31x"} {
		if _, ok := document.ParseDate(s); ok {
			t.Errorf("%q is taken for a date", s)
		}
	}
	if n, ok := document.ParseDate("2024-05-31T10:00:00Z"); !ok || written(n) != "2024-05-31" {
		t.Error("a date with its time")
	}
}
