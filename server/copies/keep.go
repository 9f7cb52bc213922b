package copies

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Keep says how many backups stay: the newest of each of so many days, weeks (ISO 8601) and months
// that have one. The newest of all always stays.
type Keep struct{ Days, Weeks, Months int }

// ErrKeep is wrapped when a rule for keeping backups cannot be read.
var ErrKeep = errors.New("not of the form days=7,weeks=5,months=12")

// ReadKeep reads a rule such as days=7,weeks=5,months=12; a missing word is 0.
//
// Refuses: ErrKeep, also for a rule that keeps nothing.
func ReadKeep(text string) (k Keep, err error) {
	at := map[string]*int{"days": &k.Days, "weeks": &k.Weeks, "months": &k.Months}
	for part := range strings.SplitSeq(text, ",") {
		name, number, ok := strings.Cut(strings.TrimSpace(part), "=")
		n, err := strconv.Atoi(number)
		if !ok || at[name] == nil || err != nil || n < 0 || n > 10_000 {
			return Keep{}, fmt.Errorf("%q: %w", part, ErrKeep)
		}
		*at[name] = n
	}
	if k == (Keep{}) {
		return Keep{}, fmt.Errorf("nothing would be kept: %w", ErrKeep)
	}
	return k, nil
}

func (k Keep) String() string {
	return fmt.Sprintf("days=%d,weeks=%d,months=%d", k.Days, k.Weeks, k.Months)
}

// stays reports which of some times, the newest first, are kept.
func (k Keep) stays(times []time.Time) []bool {
	stays := make([]bool, len(times))
	rules := []struct {
		most int
		of   func(time.Time) string
	}{
		{k.Days, func(t time.Time) string { return t.Format(time.DateOnly) }},
		{k.Weeks, func(t time.Time) string { year, week := t.ISOWeek(); return fmt.Sprint(year, " ", week) }},
		{k.Months, func(t time.Time) string { return t.Format("2006-01") }},
	}
	for _, rule := range rules {
		seen := map[string]bool{}
		for i, t := range times {
			if name := rule.of(t.UTC()); !seen[name] && len(seen) < rule.most {
				seen[name], stays[i] = true, true
			}
		}
	}
	if len(times) > 0 {
		stays[0] = true
	}
	return stays
}
