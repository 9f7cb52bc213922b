package programme

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// MaxSamples caps the samples of one logger's record for judging a wait; a longer record is thinned
// first.
const MaxSamples = 100_000

// ReadTraces reads loggers' samples that replace typed values at a wait for rest, in the form of
// calculation trace. Times count from the first sample, with which the wait begins. Pressures are
// converted to the programme's unit without rounding.
func ReadTraces(in *document.Reader, steps []Step, unit string) map[string][]Datum {
	if !in.Has("traces") {
		in.Raw("traces")
		return nil
	}
	if len(steps) > 0 && steps[0].Do == Unit {
		unit = steps[0].Unit
	}
	from := map[int]*Step{}
	byLineOf(steps, from)
	traces := map[string][]Datum{}
	for _, r := range in.List("traces") {
		id := r.Text("step")
		source := units.Of(r, "unit", units.Pressure)
		t, p := r.Numbers("t_s"), r.Decimals("p")
		for _, other := range []string{"temperature_c", "barometer_pa", "contact"} { // recorded besides
			r.Raw(other)
		}
		to, ok := units.Find(unit)
		switch s := from[lineOf(id)]; {
		case in.Err() != nil:
			return nil
		case s == nil || s.Do != Settle:
			r.Fail(document.CodeRange, "step", short(id)+" is no wait for rest")
		case traces[id] != nil:
			r.Fail(document.CodeConflict, "step", short(id)+" has two records")
		case !ok || to.Kind != units.Pressure:
			in.Fail(document.CodeUnit, "unit", short(unit)+" is no unit of pressure known here")
		case len(t) == 0 || len(t) != len(p):
			r.Fail(document.CodeShape, "p", "each pressure has its time, and there is one at least")
		case len(t) > MaxSamples:
			r.Fail(
				document.CodeRange, "p", "the record has more than "+strconv.Itoa(MaxSamples)+" samples; thin it first",
			)
		}
		if in.Err() != nil {
			return nil
		}
		list := make([]Datum, len(t))
		for k := range t {
			x, good := numeric.ParseExact(p[k].Text)
			if !good || t[k] < t[0] || t[k] > 1e9 || t[k] < -1e9 || k > 0 && t[k] < t[k-1] {
				r.Fail(
					document.CodeRange, "t_s",
					"times run on, and numbers are of usual size: sample "+strconv.Itoa(k)+" is not so",
				)
				return nil
			}
			if source.Name != to.Name {
				x = to.ExactFromSI(source.ExactSI(x))
			}
			list[k] = Datum{
				Step: id, Of: "settle", Value: x, Number: true,
				At: int64(math.Round(float64(t[k] * 1000))), Timed: true,
			}
		}
		traces[id] = list
	}
	return traces
}

// traced returns the samples for judging a wait, none if values were typed.
func (w *walker) traced(id string) (list []*Datum) {
	samples := w.rec.Traces[id]
	for k := range samples {
		list = append(list, &samples[k])
	}
	return list
}
