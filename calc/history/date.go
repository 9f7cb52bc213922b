package history

import (
	"strconv"

	"gaugewright/calc/document"
)

// daysOfYear is the mean length of a year of the calendar, near enough.
const daysOfYear = 365.25

// days returns the days since 1970-01-01 of a date YYYY-MM-DD; a time after it is passed over.
//
// Source:  counting by years that begin in March, so that the leap day stands last; the calendar repeats every 400 years of 146097 days.
func days(date string) (int, bool) {
	if len(date) < 10 || date[4] != '-' || date[7] != '-' || len(date) > 10 && date[10] != 'T' {
		return 0, false
	}
	y, err1 := strconv.Atoi(date[:4])
	m, err2 := strconv.Atoi(date[5:7])
	d, err3 := strconv.Atoi(date[8:10])
	if err1 != nil || err2 != nil || err3 != nil || y < 1900 || m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, false
	}
	n := number(y, m, d)
	return n, written(n) == date[:10] // 31 February is another day
}

func number(y, m, d int) int {
	if m <= 2 {
		y--
		m += 12
	}
	ofYear := (153*(m-3)+2)/5 + d - 1
	return 365*y + y/4 - y/100 + y/400 + ofYear - 719468
}

// written returns the date of a day.
func written(n int) string {
	y := (n + 719468) * 400 / 146097
	for number(y+1, 1, 1) <= n {
		y++
	}
	for number(y, 1, 1) > n {
		y--
	}
	m := 12
	for m > 1 && number(y, m, 1) > n {
		m--
	}
	two := func(x int) string {
		if x < 10 {
			return "0" + strconv.Itoa(x)
		}
		return strconv.Itoa(x)
	}
	return strconv.Itoa(y) + "-" + two(m) + "-" + two(n-number(y, m, 1)+1)
}

func readDate(in *document.Reader, name string) int {
	s := in.Text(name)
	n, ok := days(s)
	if in.Err() == nil && !ok {
		in.Fail(document.CodeRange, name, document.Quote(s)+" is not a date such as 2024-05-31, from 1900 on")
	}
	return n
}
