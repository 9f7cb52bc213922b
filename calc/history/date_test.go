package history

import (
	"strings"
	"testing"
	"time"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
)

func TestDue(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{`{"from":"2024-01-31","months":1}`, "2024-02-29"},
		{`{"from":"2026-11-30T08:00:00Z","months":18}`, "2028-05-30"},
		{`{"from":"2024-02-29"}`, "2025-02-28"}, // a standard's usual year
	} {
		if got := calctest.Run(t, calculateDue, tt.in).Text("due"); got != tt.want {
			t.Errorf("%s: %v, want %s", tt.in, got, tt.want)
		}
	}
	for in, field := range map[string]string{
		`{"months":3}`: "from", `{"from":"2024-02-30"}`: "from", `{"from":"2024-01-31","months":0}`: "months",
	} {
		if _, err := calctest.Try(calculateDue, in); err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s: %v, want an error of %s", in, err, field)
		}
	}
}

// TestDaysAgainstTime compares with the calendar of the standard library.
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
