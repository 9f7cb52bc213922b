package work

import "gaugewright/calc/document"

// Seconds that a step takes besides its wait, for the estimate of the duration. Common practice, no
// source.
const (
	SecondsToSet      = 15
	SecondsToRead     = 8
	SecondsToTap      = 3
	SecondsToExercise = 30 // for each trip to full scale and back
	SecondsToVent     = 20
	SecondsToRemount  = 300
)

// Plan collects steps; those of one screen are shown together.
type Plan struct {
	Out      *document.Writer
	At       Standing
	Demand   *Demand // the demand on a standard; nil unless asked for
	Screen   int
	Seconds  float64
	Readings int    // steps that ask for a value to be read
	Label    string // of the run: as found, as left or repeat
	Once     bool   // its as-found run may not be repeated
	Circuit  bool   // the instrument is part of a circuit, in which bypasses may have been set
}

// Step is one step of a plan. A number is a decimal as text, in the unit of the step; "" and 0 are
// left out.
type Step struct {
	ID, Do    string
	Series    int
	Direction string
	Point     int
	Target    string
	Unit      string
	Seconds   float64
	Count     int
	Of        string
	Text      string

	// of steps that a gauge's plan does not have
	Name     string  // under which a value is known to the evaluation
	As       string  // ask: number, yes, text or photo
	Rate     string  // ramp and set: per second, in unit
	Until    string  // ramp: contact or drop
	Within   string  // settle: half of the band, in unit
	AtMost   float64 // settle: the longest wait in seconds
	Every    float64 // read: many values, one each so many seconds
	Many     bool    // read: any number of values, ended by a tick
	Trace    bool    // read: a logger's record may take the place of typed values
	Optional bool    // nothing is missing without it
	MakeSafe string  // ask: for a safety question, what to do if the answer is not yes

	Way string    // set: up or down, in a plan without series
	Air *AirState // set: the pressures at pitot-static instruments

	*Figures // nil if the step has none
}

// Step writes a step, with the move to its pressure and the title of its value.
func (p *Plan) Step(s Step) {
	if s.Figures == nil {
		s.Figures = &Figures{}
	} else { // steps share them
		own := *s.Figures
		s.Figures = &own
	}
	p.At.step(&s)
	p.At.boundStep(&s)
	if s.Title == "" {
		s.Title = titleOf(&s)
	}
	if p.Demand != nil {
		p.Demand.Take(&s)
	}
	if s.Mode == "" && (s.Do == "set" || s.Do == "ramp" || s.Do == "exercise") && s.Air == nil {
		s.Mode = p.At.Mode
	}
	if s.Do == "read" {
		p.Readings++
	}
	p.Out.Begin()
	p.Out.Text("id", s.ID)
	p.Out.Text("do", s.Do)
	p.Out.Whole("screen", p.Screen)
	if s.Series > 0 {
		p.Out.Whole("series", s.Series)
		p.Out.Text("direction", s.Direction)
		p.Out.Whole("point", s.Point)
	} else if s.Way != "" {
		p.Out.Text("direction", s.Way)
	}
	if s.Target != "" {
		p.Out.Text("target", s.Target)
	}
	if s.Unit != "" {
		p.Out.Text("unit", s.Unit)
	}
	if s.Seconds > 0 {
		p.Out.Number("seconds", s.Seconds)
	}
	if s.Count > 0 {
		p.Out.Whole("count", s.Count)
	}
	if s.Of != "" {
		p.Out.Text("of", s.Of)
	}
	for _, f := range [...][2]string{{"text", s.Text}, {"name", s.Name}, {"as", s.As}, {"rate", s.Rate}, {"until", s.Until}, {"within", s.Within}} {
		if f[1] != "" {
			p.Out.Text(f[0], f[1])
		}
	}
	if s.MakeSafe != "" {
		p.Out.Flag("safety", true)
		p.Out.Text("make_safe", s.MakeSafe)
	}
	if s.AtMost > 0 {
		p.Out.Number("at_most_s", s.AtMost)
	}
	if s.Every > 0 {
		p.Out.Number("every_s", s.Every)
	}
	for _, f := range [...]struct {
		name string
		on   bool
	}{{"many", s.Many}, {"trace", s.Trace}, {"optional", s.Optional}} {
		if f.on {
			p.Out.Flag(f.name, true)
		}
	}
	s.Figures.put(p.Out)
	if s.Air != nil {
		p.Out.Number("altitude_ft", s.Air.Feet)
		p.Out.Number("cas_kt", s.Air.Knots)
		p.Out.Number("static_pa", s.Air.Static)
		p.Out.Number("impact_pa", s.Air.Impact)
	}
	p.Out.End()
}

// Skim marks every field of an object as known, because another calculation reads it.
func Skim(r *document.Reader) {
	for _, name := range r.Names() {
		r.Raw(name)
	}
}

// AirState is a condition at the instruments, with the pressures that produce it.
type AirState struct{ Feet, Knots, Static, Impact float64 }
