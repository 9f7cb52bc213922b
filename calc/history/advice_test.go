package history_test

import (
	"testing"

	"gaugewright/calc/history"
)

// TestAdvise checks every kind of advice. It never keeps or extends an interval if a bound is
// passed before the due date.
func TestAdvise(t *testing.T) {
	of := func(months, now float64, left int) history.Bears {
		return history.Bears{Known: true, Months: months, Sure: min(months, now), Now: now, Left: left}
	}
	none := history.Bears{}
	for _, tt := range []struct {
		name string
		e    history.Evidence
		want history.Advised
	}{
		{"nothing known", history.Evidence{12, 0.3, none, none}, history.Advised{"keep", 12, "last", "little"}},
		{"outside, nothing else known", history.Evidence{12, 1.2, none, none}, history.Advised{"reduce", 8, "last", "outside"}},
		{"outside and it will be again", history.Evidence{12, 1.2, of(7, 7, -150), none}, history.Advised{"reduce", 7, "forecast", "outside"}},
		{"outside at one month", history.Evidence{1, 1.2, none, none}, history.Advised{"keep", 1, "last", "shortest"}},
		{"the drift does not last", history.Evidence{12, 0.5, of(9.9, 9.9, -60), none}, history.Advised{"reduce", 9, "forecast", "bound"}},
		{"at most half at once", history.Evidence{12, 0.5, of(2, 2, -300), none}, history.Advised{"reduce", 6, "forecast", "bound"}},
		{"as it is now it does not last", history.Evidence{12, 0.9, of(30, 8, -120), of(40, 40, 0)}, history.Advised{"sooner", 12, "forecast", "now"}},
		{"close", history.Evidence{12, 0.81, of(60, 60, 900), of(60, 60, 0)}, history.Advised{"keep", 12, "last", "close"}},
		{"alone", history.Evidence{12, 0.3, of(60, 60, 900), none}, history.Advised{"keep", 12, "forecast", "alone"}},
		{"both bear it", history.Evidence{12, 0.3, of(30, 21.5, 200), of(60, 60, 0)}, history.Advised{"extend", 21, "forecast", "borne"}},
		{"at most twice", history.Evidence{12, 0.3, of(90, 90, 2000), of(60, 60, 0)}, history.Advised{"extend", 24, "group", "borne"}},
		{"the group fails", history.Evidence{12, 0.3, of(90, 90, 2000), of(8, 8, 0)}, history.Advised{"reduce", 8, "group", "bound"}},
		{"a group without a forecast", history.Evidence{12, 0.3, none, of(30, 30, 0)}, history.Advised{"extend", 24, "group", "borne"}},
		{"little room", history.Evidence{12, 0.3, of(17, 17, 100), of(60, 60, 0)}, history.Advised{"keep", 12, "forecast", "room"}},
		{"ten years are enough", history.Evidence{120, 0.3, of(240, 240, 3000), of(999, 999, 0)}, history.Advised{"keep", 120, "forecast", "room"}},
	} {
		if got := history.Advise(tt.e); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
	}
}
