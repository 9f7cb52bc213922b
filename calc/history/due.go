package history

import "gaugewright/calc/document"

// Due returns the day some months after another: the same day of the month, or the last day of a
// shorter month.
//
// Source: common practice, no source.
func Due(day, months int) int {
	y, m, d := document.Date(day)
	m += months - 1
	y, m = y+m/12, m%12+1
	for {
		if n, ok := document.Day(y, m, d); ok || d <= 28 {
			return n
		}
		d--
	}
}

// mostMonthsAhead is the largest number of months accepted: a century.
const mostMonthsAhead = 1200

// soonDays is how many days before its due date an instrument counts as due soon. Common practice,
// no source.
const soonDays = 14

// usualMonths is the number of months after which a standard is due again by default. The date is
// only offered; the certificate may state another. Common practice, no source.
const usualMonths = 12

// Near compares a due day with today. It returns the days left, below 0 once the day is over;
// whether it is late, from the day after; and whether it is due soon.
func Near(due, today int) (days int, late, soon bool) {
	days = due - today
	return days, days < 0, days >= 0 && days <= soonDays
}

// calculateDue is the calculation due: the date some months after another, or how close due dates
// are.
//
// Takes:   {from, months?}, or {today, dates}; a date may be followed by a time. Without months, a
// standard's usual year applies.
// Gives:   {due}, or {dates: [{days?, late, soon}]} in their order; no days for a text that is no
// date.
func calculateDue(in *document.Reader, out *document.Writer) error {
	if in.Has("dates") {
		return writeNear(in, out)
	}
	from, months := readDate(in, "from"), in.WholeOr("months", 1, mostMonthsAhead, usualMonths)
	if err := in.Err(); err != nil {
		return err
	}
	out.Text("due", written(Due(from, months)))
	return nil
}

func writeNear(in *document.Reader, out *document.Writer) error {
	today, dates := readDate(in, "today"), in.Texts("dates")
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("dates")
	for _, date := range dates {
		out.Begin()
		if day, ok := document.ParseDate(date); ok {
			days, late, soon := Near(day, today)
			out.Whole("days", days)
			out.Flag("late", late)
			out.Flag("soon", soon)
		} else {
			out.Flag("late", false)
			out.Flag("soon", false)
		}
		out.End()
	}
	out.EndList()
	return nil
}

func dueSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	if seed%8 == 7 {
		w.Text("today", "2026-03-04")
		w.BeginList("dates")
		for range d.Below(5) {
			w.TextItem([]string{"2026-03-03", "2026-03-04T08:00:00Z", "2026-03-18", "2026-03-19", ""}[d.Below(5)])
		}
		w.EndList()
		w.End()
		return w.Bytes()
	}
	w.Text("from", []string{"2024-02-29", "2025-01-31", "2026-11-30", "2023-06-15"}[d.Below(4)])
	w.Whole("months", 1+d.Below(40))
	w.End()
	return w.Bytes()
}
