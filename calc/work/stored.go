package work

import (
	"gaugewright/calc/document"
	"gaugewright/calc/energy"
)

// Stored is the energy of a test volume at one of its pressures.
type Stored struct {
	name     string
	pressure float64 // Pa, absolute
	gas      energy.Energies
	pcc2     energy.Exclusion
	implode  float64
	liquid   float64
	is       byte // g gas, d gas that the distance rule is meant for, v vacuum, l liquid
	level    string
}

// Store works out the energy of a volume at a pressure in Pa absolute; bulk is a liquid's modulus,
// 0 for a gas.
func (w *Layout) Store(name string, volume, pressure, heats, bulk float64) {
	e := Stored{name: name, pressure: pressure}
	switch {
	case !(volume > 0) || !(pressure > 0):
		return
	case bulk > 0 && pressure <= w.Ambient:
		return
	case bulk > 0:
		e.is, e.liquid = 'l', energy.Liquid(volume, pressure-w.Ambient, bulk)
		e.level = energy.Level(e.liquid)
	case pressure < w.Ambient:
		e.is, e.implode = 'v', energy.Implosion(volume, pressure, w.Ambient)
		e.level = energy.Level(e.implode)
	default:
		e.is, e.gas = 'g', energy.Stored(
			energy.Gas{VolumeM3: volume, Pressure: pressure, Ambient: w.Ambient, HeatRatio: heats},
		)
		if energy.PCC2Applies(heats, pressure) {
			e.is, e.pcc2 = 'd', energy.PCC2(volume, pressure)
		}
		e.level = energy.Level(e.gas.Isentropic)
	}
	w.Stored = append(w.Stored, e)
}

// sentence describes the energy in a sentence.
func (e *Stored) sentence() string {
	switch e.is {
	case 'l':
		return e.name + ": the liquid holds " + Figure(e.liquid) + " J; gas left in it holds far more, so bleed it."
	case 'v':
		return e.name + ": the air outside can do " + Figure(e.implode) + " J of work on the evacuated volume."
	}
	s := e.name + ": the gas holds " + Figure(e.gas.Isentropic) + " J (isentropic), " + Figure(e.gas.Brode) + " J (Brode), " + Figure(e.gas.Isothermal) + " J (isothermal)."
	if e.is == 'd' && e.level != "low" {
		s += " For a pneumatic test of plant the distance rule of ASME PCC-2 gives " + Figure(e.pcc2.RequiredM) + " m."
	}
	return s
}

// Begin writes the steps that come before the first pressure; makeSafe is what to do if the
// question is not answered with yes.
func (w *Layout) Begin(unknown, cautions, ready, makeSafe string) {
	text := ""
	for i := range w.Stored {
		if i > 0 {
			text += " "
		}
		text += w.Stored[i].sentence()
	}
	if text == "" {
		text = unknown
	}
	w.Step(Step{ID: "energy", Do: "note", Text: text}, 0)
	w.Step(
		Step{
			ID: "cautions", Do: "note",
			Text: cautions + " Local codes, the procedure of the owner and licensed persons go before this plan.",
		},
		0,
	)
	w.Step(Step{ID: "ready", Do: "ask", As: "yes", Text: ready, MakeSafe: makeSafe}, SecondsToRead)
}

// WriteStored repeats the figures in a finding.
func (w *Layout) WriteStored(out *document.Writer) {
	out.BeginList("energy")
	for i := range w.Stored {
		e := &w.Stored[i]
		out.Begin()
		out.Text("name", e.name)
		out.Number("pressure_pa", e.pressure)
		switch e.is {
		case 'l':
			out.Number("liquid_j", e.liquid)
		case 'v':
			out.Number("implosion_j", e.implode)
		default:
			energy.WriteGas(out, e.gas)
			if e.is == 'd' {
				energy.WritePCC2(out, e.pcc2)
			}
		}
		out.Text("level", e.level)
		out.End()
	}
	out.EndList()
}
