package programme

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

const (
	// mostRehearsed is the largest number of steps of a rehearsal: more than a person reads
	// through.
	mostRehearsed = 400
	// rehearsalFill is how long, in seconds, a change over the full pressure takes if no rate is
	// known.
	rehearsalFill = 15
	// rehearsalRead is how long, in seconds, a reading takes.
	rehearsalRead = 8
	// rehearsalStart is the invented beginning, 2000-01-01T00:00:00Z, in ms since 1970.
	rehearsalStart = 946684800000
	// nearStandard and nearGauge are the largest deviations of an invented reading from the
	// pressure, as shares of the highest pressure of the programme.
	nearStandard, nearGauge = 0.0002, 0.002
)

// Rehearsed is a step of a rehearsal with the value that was invented for it.
type Rehearsed struct {
	Instance
	Value string
}

// rehearsal carries out a programme with invented readings.
type rehearsal struct {
	draws     document.Draws
	unit      string
	base      float64 // the pressure after a vent
	full      float64 // the highest pressure that the programme names
	rate      float64 // per second, for a step that states none
	clock     float64 // s
	pressure  float64
	times     []float64
	pressures []float64
	rec       Record
	rows      []Rehearsed
}

// calculateRehearse is the calculation rehearse: a programme → its run with invented readings, for
// an author who wants to see which path it takes. No record is made of it.
//
// Takes:   {programme, seed, max_rate?}; the rate in the programme's unit per second.
// Gives:   {t, p, rows, branches, stop?, finished}; t in seconds, p in the programme's unit.
func calculateRehearse(in *document.Reader, out *document.Writer) error {
	steps := ReadSteps(in, "programme")
	r := &rehearsal{draws: document.Draws(in.Whole("seed", 0, 1<<30)), rec: Record{Done: map[string]int64{}}}
	rate := in.NumberOr("max_rate", 0)
	if err := in.Err(); err != nil {
		return err
	}
	mode := ""
	if len(steps) > 0 && steps[0].Do == Unit {
		r.unit, mode = steps[0].Unit, steps[0].Mode
	}
	if u, ok := units.Find(r.unit); ok && u.Kind == units.Pressure && mode == "absolute" {
		r.base = u.FromSI(units.StandardAtmosphere)
	}
	r.full = max(highest(steps), 1e-9)
	if r.rate = rate; !(rate > 0) {
		r.rate = r.full / rehearsalFill
	}
	r.pressure = r.base
	r.times, r.pressures = []float64{0}, []float64{r.base}
	course, err := r.work(steps, mode)
	if err != nil {
		return document.Refuse(document.CodeRange, "programme", err.Error())
	}
	r.put(out, &course)
	return nil
}

// highest returns the largest absolute value of the pressures that steps go to.
func highest(steps []Step) float64 {
	most := 0.0
	for i := range steps {
		s := &steps[i]
		if s.Target != "" {
			most = max(most, math.Abs(value(s.Target)))
		}
		most = max(most, highest(s.Steps), highest(s.Else))
	}
	return most
}

// work does one step after another until the programme ends, waits for something that cannot be
// invented, or exceeds mostRehearsed steps.
func (r *rehearsal) work(steps []Step, mode string) (Course, error) {
	seen := map[string]bool{}
	for {
		course, err := Follow(steps, r.unit, mode, r.rec)
		if err != nil || course.Finished {
			return course, err
		}
		worked := false
		for i := range course.Steps {
			one := &course.Steps[i]
			if one.Done || seen[one.ID] {
				continue
			}
			if len(r.rows) == mostRehearsed {
				return course, nil
			}
			seen[one.ID], worked = true, true
			r.rows = append(r.rows, Rehearsed{*one, r.step(one)})
		}
		if !worked {
			return course, nil
		}
	}
}

// step does one step and returns its invented value.
func (r *rehearsal) step(one *Instance) string {
	s := one.Step
	switch one.Do {
	case Read:
		v := r.reading(one)
		of := one.Of
		if of == "" {
			of = "indicated"
		}
		r.capture(one, of, v)
		r.to(r.pressure, rehearsalRead)
		return v
	case Ask:
		v := "invented"
		switch one.As {
		case "yes":
			v = "yes"
		case "number":
			v = numeric.Places(float64(r.draws.Below(101)), 0)
		}
		r.capture(one, "answer", v)
		return v
	case Settle:
		v, half := "", float64(value(s.Within)/2)
		for n := range 3 {
			if n > 0 {
				r.to(r.pressure, float64(value(s.Seconds)/2))
			}
			v = numeric.Significant(r.draws.Between(r.pressure-half, r.pressure+half), 6)
			r.capture(one, "settle", v)
		}
		return v
	case Set, Ramp:
		r.drive(value(s.Target), s.Rate)
	case Vent:
		r.drive(r.base, "")
	case Exercise:
		for range s.Count {
			r.drive(value(s.Target), "")
			r.drive(r.base, "")
		}
	case Hold:
		r.to(r.pressure, value(s.Seconds))
	}
	r.rec.Done[one.ID] = r.now()
	return ""
}

// reading invents the value of a read step: a temperature, a barometer reading, or a pressure near
// the present one.
func (r *rehearsal) reading(one *Instance) string {
	switch one.Step.From {
	case "thermometer":
		return numeric.Places(r.draws.Between(20, 24), 1)
	case "barometer":
		return numeric.Places(r.draws.Between(1000, 1020), 1)
	}
	near := float64(nearGauge * r.full)
	if one.Of == "applied" {
		near = float64(nearStandard * r.full)
	}
	return numeric.Significant(r.draws.Between(r.pressure-near, r.pressure+near), 6)
}

func (r *rehearsal) capture(one *Instance, of, v string) {
	d := Datum{Step: one.ID, Of: of, Text: v, At: r.now(), Timed: true, Index: len(r.rec.Data)}
	d.Value, d.Number = numeric.ParseExact(v)
	r.rec.Data = append(r.rec.Data, d)
}

// drive changes the pressure at a rate, or at that of the rehearsal if the step states none.
func (r *rehearsal) drive(p float64, rate string) {
	speed := r.rate
	if rate != "" {
		speed = value(rate)
	}
	r.to(p, math.Abs(p-r.pressure)/speed)
}

func (r *rehearsal) to(p, seconds float64) {
	r.clock += seconds
	r.pressure = p
	r.times, r.pressures = append(r.times, r.clock), append(r.pressures, p)
}

func (r *rehearsal) now() int64 { return rehearsalStart + int64(float64(r.clock*1000)) }

func (r *rehearsal) put(out *document.Writer, c *Course) {
	for _, l := range [...]struct {
		name string
		list []float64
	}{{"t", r.times}, {"p", r.pressures}} {
		out.BeginList(l.name)
		for _, x := range l.list {
			out.NumberItem(x)
		}
		out.EndList()
	}
	out.BeginList("rows")
	for i := range r.rows {
		one := &r.rows[i]
		text, target := one.Text, ""
		if one.Do == Set || one.Do == Ramp || one.Do == Exercise {
			target = one.Step.Target
		}
		out.Begin()
		out.Text("id", one.ID)
		out.Whole("line", one.Step.Line)
		out.Text("do", one.Do)
		for _, f := range [...][2]string{
			{"name", one.Name}, {"text", text}, {"target", target}, {"unit", one.Instance.unit(c.Unit)}, {"value", one.Value},
		} {
			if f[1] != "" {
				out.Text(f[0], f[1])
			}
		}
		out.End()
	}
	out.EndList()
	PutBranches(out, c.Branches)
	out.Flag("finished", c.Finished)
	if c.Stop != "" {
		out.Text("stop", c.Stop)
	}
}
