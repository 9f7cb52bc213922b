package calc

import (
	"gaugewright/calc/document"
	"gaugewright/calc/energy"
)

// stored is the energy of a test volume at one of its pressures.
type stored struct {
	name     string
	pressure float64 // Pa, absolute
	gas      energy.Energies
	pcc2     energy.Exclusion
	implode  float64
	liquid   float64
	is       byte // g gas, d gas for which the distance rule is meant, v vacuum, l liquid
	level    string
}

// store works out the energy of a volume at a pressure in Pa absolute; bulk is a liquid's modulus, 0 for a gas.
func (w *work) store(name string, volume, pressure, heats, bulk float64) {
	e := stored{name: name, pressure: pressure}
	switch {
	case !(volume > 0) || !(pressure > 0):
		return
	case bulk > 0 && pressure <= w.ambient:
		return
	case bulk > 0:
		e.is, e.liquid = 'l', energy.Liquid(volume, pressure-w.ambient, bulk)
		e.level = energy.Level(e.liquid)
	case pressure < w.ambient:
		e.is, e.implode = 'v', energy.Implosion(volume, pressure, w.ambient)
		e.level = energy.Level(e.implode)
	default:
		e.is, e.gas = 'g', energy.Stored(energy.Gas{VolumeM3: volume, Pressure: pressure, Ambient: w.ambient, HeatRatio: heats})
		if heats == 1.4 && pressure > 101000 {
			e.is, e.pcc2 = 'd', energy.PCC2(volume, pressure)
		}
		e.level = energy.Level(e.gas.Isentropic)
	}
	w.stored = append(w.stored, e)
}

// tell says it in a sentence.
func (e *stored) tell() string {
	switch e.is {
	case 'l':
		return e.name + ": the liquid holds " + figure(e.liquid) + " J; gas left in it holds far more, so bleed it."
	case 'v':
		return e.name + ": the air outside can do " + figure(e.implode) + " J of work on the evacuated volume."
	}
	s := e.name + ": the gas holds " + figure(e.gas.Isentropic) + " J (isentropic), " + figure(e.gas.Brode) + " J (Brode), " + figure(e.gas.Isothermal) + " J (isothermal)."
	if e.is == 'd' && e.level != "low" {
		s += " For a pneumatic test of plant the distance rule of ASME PCC-2 gives " + figure(e.pcc2.RequiredM) + " m."
	}
	return s
}

// begin writes the steps that come before the first pressure.
func (w *work) begin(unknown, cautions, ready string) {
	text := ""
	for i := range w.stored {
		if i > 0 {
			text += " "
		}
		text += w.stored[i].tell()
	}
	if text == "" {
		text = unknown
	}
	w.step(planStep{id: "energy", do: "note", text: text}, 0)
	w.step(planStep{id: "cautions", do: "note", text: cautions + " Local codes, the procedure of the owner and licensed persons go before this plan."}, 0)
	w.step(planStep{id: "ready", do: "ask", as: "yes", text: ready}, secondsToRead)
}

// writeStored repeats the figures in a finding.
func (w *work) writeStored(out *document.Writer) {
	out.BeginList("energy")
	for i := range w.stored {
		e := &w.stored[i]
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
