package document

import "strconv"

// Day returns the days since 1970-01-01 of a date of the Gregorian calendar; ok is false if there
// is no such date from 1900 on.
func Day(y, m, d int) (day int, ok bool) {
	if y < 1900 || y > 9999 || m < 1 || m > 12 || d < 1 || d > monthDays(y, m) {
		return 0, false
	}
	return DayNumber(y, m, d), true
}

// ParseDate returns the days since 1970-01-01 of a date YYYY-MM-DD; a time after it is ignored.
func ParseDate(date string) (day int, ok bool) {
	if len(date) < 10 || date[4] != '-' || date[7] != '-' || len(date) > 10 && date[10] != 'T' {
		return 0, false
	}
	y, err1 := strconv.ParseUint(date[:4], 10, 16)
	m, err2 := strconv.ParseUint(date[5:7], 10, 16)
	d, err3 := strconv.ParseUint(date[8:10], 10, 16)
	if err1 != nil || err2 != nil || err3 != nil {
		return 0, false
	}
	return Day(int(y), int(m), int(d))
}

// DayNumber is Day for a date that is known to exist.
//
// Source:  counting by years that begin in March, so that the leap day comes last; the calendar
// repeats every 400 years of 146097 days.
func DayNumber(y, m, d int) int {
	if m <= 2 {
		y--
		m += 12
	}
	ofYear := (153*(m-3)+2)/5 + d - 1
	return 365*y + y/4 - y/100 + y/400 + ofYear - 719468
}

// Date returns the date of a day counted from 1970-01-01, of a year from 1 to 9999.
func Date(n int) (y, m, d int) {
	y = (n + 719468) * 400 / 146097
	for DayNumber(y+1, 1, 1) <= n {
		y++
	}
	for DayNumber(y, 1, 1) > n {
		y--
	}
	m = 12
	for m > 1 && DayNumber(y, m, 1) > n {
		m--
	}
	return y, m, n - DayNumber(y, m, 1) + 1
}

func monthDays(y, m int) int {
	switch m {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// ParseMoment reads an RFC 3339 time with its zone, as milliseconds since 1970-01-01T00:00:00Z;
// digits beyond the millisecond are cut off.
func ParseMoment(s string) (ms int64, ok bool) {
	if len(s) < 20 || s[4] != '-' || s[7] != '-' || s[10] != 'T' && s[10] != 't' || s[13] != ':' || s[16] != ':' {
		return 0, false
	}
	var n [6]int
	for i, part := range [6]string{s[:4], s[5:7], s[8:10], s[11:13], s[14:16], s[17:19]} {
		x, err := strconv.ParseUint(part, 10, 16)
		if err != nil {
			return 0, false
		}
		n[i] = int(x)
	}
	day, ok := Day(n[0], n[1], n[2])
	if !ok || n[3] > 23 || n[4] > 59 || n[5] > 60 {
		return 0, false
	}
	rest := s[19:]
	part, scale := 0, 100
	if rest[0] == '.' {
		i := 1
		for ; i < len(rest) && rest[i] >= '0' && rest[i] <= '9'; i++ {
			part += int(rest[i]-'0') * scale
			scale /= 10
		}
		if i == 1 {
			return 0, false
		}
		rest = rest[i:]
	}
	zone := 0
	switch {
	case rest == "Z" || rest == "z":
	case len(rest) == 6 && (rest[0] == '+' || rest[0] == '-') && rest[3] == ':':
		h, err1 := strconv.ParseUint(rest[1:3], 10, 8)
		m, err2 := strconv.ParseUint(rest[4:6], 10, 8)
		if err1 != nil || err2 != nil || h > 23 || m > 59 {
			return 0, false
		}
		zone = int(h*60 + m)
		if rest[0] == '-' {
			zone = -zone
		}
	default:
		return 0, false
	}
	seconds := int64(day)*86400 + int64(n[3]*3600+n[4]*60+n[5]) - int64(zone)*60
	return seconds*1000 + int64(part), true
}

// Moment takes an optional time, as milliseconds since 1970-01-01T00:00:00Z; ok is false if it is
// absent.
//
// Refuses: anything but an RFC 3339 time with a zone (range).
func (r *Reader) Moment(name string) (ms int64, ok bool) {
	s := r.TextOr(name, "")
	if s == "" || r.Err() != nil {
		return 0, false
	}
	if ms, ok = ParseMoment(s); !ok {
		r.Fail(CodeRange, name, "must be a time such as 2026-11-25T14:30:00Z, with its zone")
	}
	return ms, ok
}
