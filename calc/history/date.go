package history

import (
	"strconv"

	"gaugewright/calc/document"
)

// daysOfYear is the mean length of a year of the calendar, near enough.
const daysOfYear = 365.25

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
	n, ok := document.ParseDate(s)
	if in.Err() == nil && !ok {
		in.Fail(document.CodeRange, name, document.Quote(s)+" is not a date such as 2024-05-31, from 1900 on")
	}
	return n
}
