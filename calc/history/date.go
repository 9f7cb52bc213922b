package history

import (
	"strconv"

	"gaugewright/calc/document"
)

// daysOfYear is the mean length of a year of the calendar, near enough.
const daysOfYear = 365.25

// days returns the days since 1970-01-01 of a date YYYY-MM-DD; a time after it is passed over.
func days(date string) (int, bool) {
	if len(date) < 10 || date[4] != '-' || date[7] != '-' || len(date) > 10 && date[10] != 'T' {
		return 0, false
	}
	y, err1 := strconv.ParseUint(date[:4], 10, 16)
	m, err2 := strconv.ParseUint(date[5:7], 10, 16)
	d, err3 := strconv.ParseUint(date[8:10], 10, 16)
	if err1 != nil || err2 != nil || err3 != nil {
		return 0, false
	}
	return document.Day(int(y), int(m), int(d))
}

// written returns the date of a day.
func written(n int) string {
	y, m, d := document.Date(n)
	two := func(x int) string {
		if x < 10 {
			return "0" + strconv.Itoa(x)
		}
		return strconv.Itoa(x)
	}
	return strconv.Itoa(y) + "-" + two(m) + "-" + two(d)
}

func readDate(in *document.Reader, name string) int {
	s := in.Text(name)
	n, ok := days(s)
	if in.Err() == nil && !ok {
		in.Fail(document.CodeRange, name, document.Quote(s)+" is not a date such as 2024-05-31, from 1900 on")
	}
	return n
}
