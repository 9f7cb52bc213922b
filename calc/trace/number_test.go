package trace

import "testing"

// TestNumbersOfSpreadsheets: both marks in one number, words for a missing value, days counted as
// in a spreadsheet (45,000 is a day in 2023; 86,400 s are one).
func TestNumbersOfSpreadsheets(t *testing.T) {
	for cell, want := range map[string]float64{"1.234,5": 1234.5, "-12.345.678,25": -12345678.25, "0,5": 0.5, "1.234.567": 1234567} {
		if x, ok := number([]byte(cell), ','); !ok || x != want {
			t.Errorf("%s: %v %v", cell, x, ok)
		}
	}
	for _, cell := range []string{"1.23,4", "1.234", ",1.234", "1,2.345"} {
		if x, ok := number([]byte(cell), ','); ok {
			t.Errorf("%s is taken for %v", cell, x)
		}
	}
	for _, cell := range []string{"---", "OL", "-OL", "nan", ""} {
		if !empty([]byte(cell)) {
			t.Errorf("%s is a value", cell)
		}
	}
	v, err := Look([]byte("Time;P bar\n1;1.234,5\n2;1.234,6\n3;---\n4;1.234,8\n"), true)
	if err != nil || v.Decimal != ',' || guesses(v) != "time pressure[bar]" {
		t.Errorf("%v: %c %s", err, v.Decimal, guesses(v))
	}
	v, err = Look(
		[]byte("Time;P bar\n45123,5208333333;1,5\n45123,5208449074;1,6\n45123,5208564815;1,7\n45123,5208680556;1,8\n"),
		true,
	)
	if err != nil || v.timeUnit(0) != "d" || v.IntervalS < 0.99 || v.IntervalS > 1.01 {
		t.Errorf("%v: %s, every %v s", err, v.timeUnit(0), v.IntervalS)
	}
	v, err = Look([]byte("Time;P bar\n45000,001;1,5\n45000,002;1,6\n45000,003;1,7\n45000,004;1,8\n"), true)
	if err != nil || v.timeUnit(0) != "s" {
		t.Errorf("%v: a millisecond is taken for %s", err, v.timeUnit(0))
	}
}
