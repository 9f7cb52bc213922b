package visit

import (
	"strconv"

	"gaugewright/calc/document"
)

// calculatePast is the calculation past: the summaries of an instrument's finished visits → its
// history in the form of the calculation drift, the latest error found as a share of its limit, the
// share of the limit found at every visit, and a failure of a safety function not resolved since
// the last visit.
//
// A point's rising and falling readings count as their mean, with the smallest of their limits. Of
// two visits on one day the later one counts. Errors as left count if the instrument was adjusted.
// Work by a draft of a method does not count: no due date follows from it.
func calculatePast(in *document.Reader, out *document.Writer) error {
	var visits, all []Past
	for _, r := range in.List("visits") {
		v := Past{
			id: r.TextOr("id", ""), Started: r.Text("started"),
			Adjusted: r.Flag("adjusted", false), signed: r.Flag("signed", false),
		}
		v.Summary, _ = r.Raw("summary")
		all = append(all, v)
		if !r.Flag("draft", false) {
			visits = append(visits, v)
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	visits = byStart(visits)
	out.BeginList("history")
	for _, v := range Counting(visits) {
		v.write(out)
	}
	out.EndList()
	for i := len(visits) - 1; i >= 0; i-- {
		if f, ok := number(part(part(visits[i].Summary, "as_found"), "worst_fraction")); ok {
			out.Number("found_fraction", f)
			break
		}
	}
	writeShares(out, visits)
	if v := failedBefore(byStart(all)); v != nil {
		out.BeginObject("failed")
		out.Text("visit", v.id)
		out.Text("at", v.Started)
		out.End()
	}
	return nil
}

// failedBefore returns the last signed visit with a result if a safety function failed there and no
// decision has ended the failure; else nil. Work by a draft counts too: a failure remains one,
// whatever the method. visits are in the order in which they began.
func failedBefore(visits []Past) *Past {
	for i := len(visits) - 1; i >= 0; i-- {
		v := &visits[i]
		if !v.signed || v.id == "" || part(v.Summary, "as_found") == nil && part(v.Summary, "as_left") == nil {
			continue
		}
		if said := part(v.Summary, "after"); yes(part(said, "open")) && yes(part(said, "safety")) {
			return v
		}
		return nil
	}
	return nil
}

// Past is a finished visit in an instrument's history.
type Past struct {
	Started  string // a moment
	Adjusted bool
	Summary  *document.Value // as WriteSummary writes it; nil if there is none
	id       string
	signed   bool
}

func (v *Past) date() string { return v.Started[:min(len(v.Started), len("2006-01-02"))] }

// Errors returns the errors at the points of a run, as_found or as_left.
func (v *Past) Errors(run string) []MeanError { return meanErrors(part(v.Summary, run)) }

// Counting returns the visits that make up an instrument's history, in the order in which they
// began: those with errors as found, and only the latest of a day.
func Counting(visits []Past) (list []*Past) {
	visits = byStart(visits)
	for i := range visits {
		if !superseded(visits, i) {
			list = append(list, &visits[i])
		}
	}
	return list
}

// byStart sorts visits by when they began, and keeps the order of those that began together.
func byStart(list []Past) []Past {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && list[k].Started < list[k-1].Started; k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
	return list
}

// superseded reports whether a visit has no errors, or a later one with errors began on the same
// day.
func superseded(list []Past, i int) bool {
	if list[i].date() == "" || len(list[i].Errors("as_found")) == 0 {
		return true
	}
	for k := i + 1; k < len(list) && list[k].date() == list[i].date(); k++ {
		if len(list[k].Errors("as_found")) > 0 {
			return true
		}
	}
	return false
}

func (v *Past) write(out *document.Writer) {
	out.Begin()
	out.Text("date", v.date())
	writeErrors(out, "errors", v.Errors("as_found"))
	if v.Adjusted {
		out.Flag("adjusted", true)
		if left := v.Errors("as_left"); len(left) > 0 {
			writeErrors(out, "left", left)
		}
	}
	out.End()
}

// MeanError is the mean error of the rising and falling readings at a point.
type MeanError struct {
	Point   string  // as typed
	Limit   float64 // the smallest, 0 if none is known
	at, sum float64
	n       int
}

// Error returns the mean.
func (e *MeanError) Error() float64 { return e.sum / float64(e.n) }

// meanErrors groups the readings of a run's summary by point, in their order.
func meanErrors(run *document.Value) []MeanError {
	points := part(run, "points")
	if points == nil {
		return nil
	}
	var list []MeanError
	for _, p := range points.List() {
		e, ok := number(part(&p, "error"))
		at, ok2 := number(part(&p, "point"))
		if !ok || !ok2 {
			continue
		}
		k := 0
		for k < len(list) && list[k].at != at {
			k++
		}
		if k == len(list) {
			list = append(list, MeanError{Point: text(part(&p, "point")), at: at})
		}
		list[k].sum += e
		list[k].n++
		if limit, ok := number(part(&p, "limit")); ok && limit > 0 && (list[k].Limit == 0 || limit < list[k].Limit) {
			list[k].Limit = limit
		}
	}
	return list
}

func writeErrors(out *document.Writer, name string, list []MeanError) {
	out.BeginList(name)
	for i := range list {
		e := &list[i]
		out.Begin()
		out.Text("point", e.Point)
		out.Number("error", e.Error())
		if e.Limit > 0 {
			out.Number("limit", e.Limit)
		}
		out.End()
	}
	out.EndList()
}

func number(v *document.Value) (float64, bool) {
	x, err := strconv.ParseFloat(text(v), 64)
	return x, err == nil
}

// enoughKin is the least number of results for a share of passes; with fewer the calculation
// interval warns.
const enoughKin = 20

// calculateKin is the calculation kin: among instruments with the same limit and interval as a
// given one, how many results passed as found. Results that are neither pass nor fail do not count.
func calculateKin(in *document.Reader, out *document.Writer) error {
	own := kinOf(in.Object("instrument"))
	kin := map[string]bool{}
	for _, r := range in.List("instruments") {
		id := r.Text("id")
		kin[id] = kinOf(r) == own
	}
	passed, of := 0, 0
	for _, r := range in.List("visits") {
		instrument, verdict := r.Text("instrument"), r.TextOr("verdict", "")
		if !kin[instrument] || verdict != "pass" && verdict != "fail" {
			continue
		}
		of++
		if verdict == "pass" {
			passed++
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.Whole("passed", passed)
	out.Whole("of", of)
	out.Flag("enough", of >= enoughKin)
	return nil
}

// kinOf writes what makes instruments comparable.
func kinOf(r *document.Reader) string {
	var b []byte
	for _, name := range []string{"limit", "interval_months"} {
		if v, ok := r.Raw(name); ok {
			b = document.AppendValue(b, v)
		}
		b = append(b, ' ')
	}
	return string(b)
}
