package history

import "gaugewright/calc/document"

// Due returns the day that is some months after another: the same day of its month, or the last
// one of a month that is shorter.
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

// mostMonthsAhead bounds what is asked: a century.
const mostMonthsAhead = 1200

// calculateDue is the calculation due: {from, months} → {due}, the date that is so many months
// after another.
func calculateDue(in *document.Reader, out *document.Writer) error {
	from, months := readDate(in, "from"), in.Whole("months", 1, mostMonthsAhead)
	if err := in.Err(); err != nil {
		return err
	}
	out.Text("due", written(Due(from, months)))
	return nil
}

func dueSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("from", []string{"2024-02-29", "2025-01-31", "2026-11-30", "2023-06-15"}[d.Below(4)])
	w.Whole("months", 1+d.Below(40))
	w.End()
	return w.Bytes()
}
