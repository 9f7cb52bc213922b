package visit

import (
	"strconv"

	"gaugewright/calc/document"
)

// calculatePast is the calculation past: the summaries of an instrument's finished visits → its
// history as the calculation drift takes it, the latest error found as a share of its limit, of
// every visit the share of its limit that was found, and the failure of a safety function that
// stands since its last visit.
//
// A point's rising and falling readings count as their mean, with the smallest of their limits. A
// day with two visits keeps the later one. What was left counts where the instrument was adjusted.
// Work by a draft of a method counts for nothing: no due date follows from it.
func calculatePast(in *document.Reader, out *document.Writer) error {
	var visits, all []pastVisit
	for _, r := range in.List("visits") {
		v := pastVisit{
			id: r.TextOr("id", ""), started: r.Text("started"),
			adjusted: r.Flag("adjusted", false), signed: r.Flag("signed", false),
		}
		v.summary, _ = r.Raw("summary")
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
	for i := range visits {
		if v := &visits[i]; !superseded(visits, i) {
			v.write(out)
		}
	}
	out.EndList()
	for i := len(visits) - 1; i >= 0; i-- {
		if f, ok := number(part(part(visits[i].summary, "as_found"), "worst_fraction")); ok {
			out.Number("found_fraction", f)
			break
		}
	}
	writeShares(out, visits)
	if v := failedBefore(byStart(all)); v != nil {
		out.BeginObject("failed")
		out.Text("visit", v.id)
		out.Text("at", v.started)
		out.End()
	}
	return nil
}

type pastVisit struct {
	id, started      string
	adjusted, signed bool
	summary          *document.Value
}

// failedBefore returns the last signed visit with a result if a safety function failed there and
// nothing that ends the failure was decided; nil otherwise. Work by a draft counts too: what failed
// has failed, whatever it was tested by. Visits come in the order in which they began.
func failedBefore(visits []pastVisit) *pastVisit {
	for i := len(visits) - 1; i >= 0; i-- {
		v := &visits[i]
		if !v.signed || v.id == "" || part(v.summary, "as_found") == nil && part(v.summary, "as_left") == nil {
			continue
		}
		if said := part(v.summary, "after"); yes(part(said, "open")) && yes(part(said, "safety")) {
			return v
		}
		return nil
	}
	return nil
}

func (v *pastVisit) date() string { return v.started[:min(len(v.started), len("2006-01-02"))] }

func (v *pastVisit) found() []meanError { return meanErrors(part(v.summary, "as_found")) }

// byStart puts visits in the order in which they began; what began together keeps its order.
func byStart(list []pastVisit) []pastVisit {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && list[k].started < list[k-1].started; k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
	return list
}

// superseded says whether a visit has no errors, or another one of the same day with errors began
// later.
func superseded(list []pastVisit, i int) bool {
	if list[i].date() == "" || len(list[i].found()) == 0 {
		return true
	}
	for k := i + 1; k < len(list) && list[k].date() == list[i].date(); k++ {
		if len(list[k].found()) > 0 {
			return true
		}
	}
	return false
}

func (v *pastVisit) write(out *document.Writer) {
	out.Begin()
	out.Text("date", v.date())
	writeErrors(out, "errors", v.found())
	if v.adjusted {
		out.Flag("adjusted", true)
		if left := meanErrors(part(v.summary, "as_left")); len(left) > 0 {
			writeErrors(out, "left", left)
		}
	}
	out.End()
}

// meanError is the error at a point, as its rising and falling readings have it on the mean.
type meanError struct {
	point   string
	at, sum float64
	n       int
	limit   float64 // the smallest, 0 where none is known
}

// meanErrors joins the readings of a run's summary by their point, in the order in which they come.
func meanErrors(run *document.Value) []meanError {
	points := part(run, "points")
	if points == nil {
		return nil
	}
	var list []meanError
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
			list = append(list, meanError{point: text(part(&p, "point")), at: at})
		}
		list[k].sum += e
		list[k].n++
		if limit, ok := number(part(&p, "limit")); ok && limit > 0 && (list[k].limit == 0 || limit < list[k].limit) {
			list[k].limit = limit
		}
	}
	return list
}

func writeErrors(out *document.Writer, name string, list []meanError) {
	out.BeginList(name)
	for i := range list {
		e := &list[i]
		out.Begin()
		out.Text("point", e.point)
		out.Number("error", e.sum/float64(e.n))
		if e.limit > 0 {
			out.Number("limit", e.limit)
		}
		out.End()
	}
	out.EndList()
}

func number(v *document.Value) (float64, bool) {
	x, err := strconv.ParseFloat(text(v), 64)
	return x, err == nil
}

// enoughKin is how many results a share of those that passed must rest on; below it the calculation
// interval warns.
const enoughKin = 20

// calculateKin is the calculation kin: how many of the results of instruments with the same limit
// and interval as one of them passed as found. Results that are neither pass nor fail do not count.
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
