package register

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/visit"
)

// The words of registers in several languages for a status, compared like headings.
var (
	inService = []string{
		"in service", "in use", "active", "yes", "ok", "in betrieb", "aktiv", "en service", "actif",
		"en servicio", "activo", "operativo", "installed", "eingebaut", "x",
	}
	outOfService = []string{
		"out of service", "inactive", "spare", "no", "removed", "außer betrieb", "ausser betrieb",
		"inaktiv", "hors service", "reserve", "réserve", "reserva", "ersatz", "stillgelegt", "ausgebaut",
		"scrapped", "verschrottet", "fuera de servicio", "inactivo", "retired", "store", "lager",
		"en stock", "almacén", "déposé", "rebut", "baja",
	}
)

// languages are the words for the languages that certificates can be in, by their codes.
var languages = map[string][]string{
	"en": {"en", "eng", "english", "englisch", "anglais", "inglés"},
	"de": {"de", "ger", "deu", "german", "deutsch", "allemand", "alemán"},
}

// certificateLanguage reads a language of certificates by its code or its name.
func certificateLanguage(text string) (string, error) {
	for code, words := range languages {
		if isOne(words, text) {
			return code, nil
		}
	}
	return "", fmt.Errorf("certificates are in English (en) or German (de); %q is neither", text)
}

func isOne(of []string, text string) bool {
	return slices.ContainsFunc(of, func(w string) bool { return letters(w) == letters(text) })
}

// intervals are words for test intervals, in months.
var intervals = map[int][]string{
	1:  {"monthly", "monatlich", "mensuel", "mensuelle", "mensual"},
	3:  {"quarterly", "vierteljährlich", "quartalsweise", "trimestriel", "trimestrielle", "trimestral"},
	6:  {"half yearly", "every half year", "halbjährlich", "semestriel", "semestrielle", "semestral", "six monthly"},
	12: {"yearly", "annual", "annually", "jährlich", "annuel", "annuelle", "anual", "every year"},
	24: {"every two years", "zweijährlich", "alle zwei jahre", "biennial", "bisannuel", "bienal", "tous les deux ans"},
}

var (
	monthsForm = regexp.MustCompile(`^(\d{1,3})\s*(?:m|mo|mon|mths?|months?|monate?n?|mois|mes|meses)?\.?$`)
	yearsForm  = regexp.MustCompile(`^(\d{1,2})\s*(?:a|y|yr|yrs|years?|jahre?n?|ans?|años?|j)\.?$`)
)

// months reads an interval such as 12, 12 Monate, 2 years or jährlich.
func months(text string) (int, error) {
	s := strings.ToLower(strings.TrimSpace(text))
	n := 0
	if m := monthsForm.FindStringSubmatch(s); m != nil {
		n, _ = strconv.Atoi(m[1])
	} else if m := yearsForm.FindStringSubmatch(s); m != nil {
		n, _ = strconv.Atoi(m[1])
		n *= 12
	} else {
		for is, words := range intervals {
			if isOne(words, s) {
				n = is
			}
		}
	}
	if n < 1 || n > visit.MostMonths {
		return 0, fmt.Errorf("the interval %q is not a number of months from 1 to %d", text, visit.MostMonths)
	}
	return n, nil
}

// monthNames are the first letters of the names of months in four languages, enough to tell them
// apart.
var monthNames = [][]string{
	{"jan", "jän", "ene"}, {"feb", "fév", "fev"}, {"mar", "mär", "mae"}, {"apr", "avr", "abr"}, {"may", "mai"},
	{"jun", "juin"}, {"jul", "juil"}, {"aug", "aoû", "aou", "ago"}, {"sep"}, {"oct", "okt"}, {"nov"},
	{"dec", "dez", "déc", "dic"},
}

func monthOf(name string) time.Month {
	name = strings.ToLower(strings.TrimSuffix(name, "."))
	best, month := 0, time.Month(0)
	for i, list := range monthNames {
		for _, begins := range list {
			if strings.HasPrefix(name, begins) && len(begins) > best {
				best, month = len(begins), time.Month(i+1)
			}
		}
	}
	return month
}

var (
	quarterForm = regexp.MustCompile(
		`(?i)^(?:([qt])\s?([1-4])|([1-4])\.?\s?(?:quartal|quarter|trimestre|q|t))[\s/.-]*(\d{4}|\d{2})$`,
	)
	weekForm = regexp.MustCompile(
		`(?i)^(?:kw|cw|wk|week|woche|sem|semaine|semana|s|w)\.?\s?(\d{1,2})[\s/.-]*(\d{4}|\d{2})$`,
	)
	isoWeekForm = regexp.MustCompile(`(?i)^(\d{4})-?w(\d{2})$`)
	monthForm   = regexp.MustCompile(`^(\d{1,2})[/.-](\d{4})$`)
	isoMonth    = regexp.MustCompile(`^(\d{4})[/.-](\d{1,2})$`)
	namedMonth  = regexp.MustCompile(`^(?:(\d{1,2})[.\s-]*)?(\p{L}{3,10})\.?[\s/.-]*(\d{4}|\d{2})$`)
	yearForm    = regexp.MustCompile(`^(\d{4})$`)
	shortDay    = regexp.MustCompile(`^(\d{1,2})\.(\d{1,2})\.(\d{2})$`)
)

// year reads a year of two or four digits; one of two is in this century.
func year(text string) int {
	n, _ := strconv.Atoi(text)
	if len(text) == 2 {
		n += 2000
	}
	return n
}

// date reads a day as 2026-03-04, 4.3.2026 or 31.12.26, or with slashes in the given order (dmy or
// mdy). It also reads a period such as Q3 2027, KW 12/2027, 07/2027, March 2027 or 2027, and
// returns its last day.
func date(text, order string) (string, error) {
	if t, ok := period(strings.TrimSpace(text)); ok {
		return likely(text, t)
	}
	forms := []string{
		"2006-01-02", "2006/01/02", "2.1.2006", "2 Jan 2006", "2-Jan-2006", "2006-01-02 15:04:05",
		"2006-01-02T15:04:05", "2.1.2006 15:04", "2.1.2006 15:04:05",
	}
	switch order {
	case "dmy":
		forms = append(forms, "2/1/2006", "2-1-2006", "2/1/06")
	case "mdy":
		forms = append(forms, "1/2/2006", "1-2-2006", "1/2/06")
	default:
		for _, both := range [][2]string{{"2/1/2006", "1/2/2006"}, {"2/1/06", "1/2/06"}, {"2-1-2006", "1-2-2006"}} {
			one, err := time.Parse(both[0], text)
			two, err2 := time.Parse(both[1], text)
			switch {
			case err == nil && err2 == nil && !one.Equal(two):
				return "", fmt.Errorf("%q %w", text, errOrder)
			case err == nil:
				forms = append(forms, both[0])
			case err2 == nil:
				forms = append(forms, both[1])
			}
		}
	}
	for _, f := range forms {
		if t, err := time.Parse(f, text); err == nil {
			return likely(text, t)
		}
	}
	return "", fmt.Errorf("%q is not a date such as 2026-03-04", text)
}

func likely(text string, t time.Time) (string, error) {
	if t.Year() < 1950 || t.Year() > 2150 {
		return "", fmt.Errorf("%q is not a likely date", text)
	}
	return t.Format("2006-01-02"), nil
}

// endOf returns the last day of a number of months from the first of one.
func endOf(y int, m time.Month, months int) time.Time {
	return time.Date(y, m+time.Month(months), 0, 0, 0, 0, 0, time.UTC)
}

// period reads a date that is not a day in numbers.
func period(text string) (time.Time, bool) {
	number := func(s string) int {
		n, _ := strconv.Atoi(s)
		return n
	}
	month := func(y, m int) (time.Time, bool) { return endOf(y, time.Month(m), 1), m >= 1 && m <= 12 }
	week := func(y, w int) (time.Time, bool) {
		first := time.Date(y, 1, 4, 0, 0, 0, 0, time.UTC) // always in week 1 (ISO 8601)
		monday := first.AddDate(0, 0, -(int(first.Weekday())+6)%7+(w-1)*7)
		is, n := monday.ISOWeek()
		return monday.AddDate(0, 0, 6), is == y && n == w
	}
	if m := quarterForm.FindStringSubmatch(text); m != nil {
		return endOf(year(m[4]), time.Month(3*number(m[2]+m[3])-2), 3), true
	}
	if m := weekForm.FindStringSubmatch(text); m != nil {
		return week(year(m[2]), number(m[1]))
	}
	if m := isoWeekForm.FindStringSubmatch(text); m != nil {
		return week(number(m[1]), number(m[2]))
	}
	if m := monthForm.FindStringSubmatch(text); m != nil {
		return month(number(m[2]), number(m[1]))
	}
	if m := isoMonth.FindStringSubmatch(text); m != nil {
		return month(number(m[1]), number(m[2]))
	}
	if m := yearForm.FindStringSubmatch(text); m != nil {
		return endOf(number(m[1]), time.January, 12), true
	}
	if m := shortDay.FindStringSubmatch(text); m != nil {
		t := time.Date(year(m[3]), time.Month(number(m[2])), number(m[1]), 0, 0, 0, 0, time.UTC)
		return t, t.Day() == number(m[1]) && t.Month() == time.Month(number(m[2]))
	}
	if m := namedMonth.FindStringSubmatch(text); m != nil {
		is := monthOf(m[2])
		if is == 0 {
			return time.Time{}, false
		}
		if m[1] == "" {
			return endOf(year(m[3]), is, 1), true
		}
		t := time.Date(year(m[3]), is, number(m[1]), 0, 0, 0, 0, time.UTC)
		return t, t.Day() == number(m[1])
	}
	return time.Time{}, false
}
