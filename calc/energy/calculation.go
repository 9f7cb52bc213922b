package energy

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// Calculations returns the calculations energy and fill.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "energy", Call: calculateEnergy},
		{Name: "fill", Call: calculateFill},
	}
}

// TNT equivalents in joules per kilogram: of PCC-2 (its SI constant) for the distance, and of the
// thermochemical gram for the plain figure.
const perKilogramTNT = 4184e3

// The level of a caution, by isentropic energy. 100 kJ is the published mark (UC Berkeley EH&S,
// stored energy note); 1 kJ, more than a hand pump stores, is our own step.
const (
	lowBelow  = 1e3
	highAbove = 100e3
)

func Level(joules float64) string {
	switch {
	case joules > highAbove:
		return "high"
	case joules >= lowBelow:
		return "raised"
	}
	return "low"
}

func calculateEnergy(in *document.Reader, out *document.Writer) error {
	volume := in.Positive("volume_m3")
	pressure := in.Positive("pressure_pa")
	ambient := in.NumberOr("ambient_pa", units.StandardAtmosphere)
	k := in.NumberOr("ratio_of_heats", 1.4)
	liquid, isLiquid := in.OptionalObject("liquid")
	var bulk float64
	if isLiquid {
		bulk = liquid.Positive("bulk_modulus_pa")
		if in.Err() == nil && in.Has("ratio_of_heats") {
			in.Fail(
				document.CodeConflict, "ratio_of_heats", "a ratio of heats belongs to a gas; leave it out for a liquid",
			)
		}
	}
	if in.Err() == nil && !(ambient > 0 && ambient < 2e5) {
		in.Fail(document.CodeRange, "ambient_pa", "must be above 0 and below 200000 Pa, absolute")
	}
	if in.Err() == nil && !(k > 1 && k < 2) {
		in.Fail(document.CodeRange, "ratio_of_heats", "must be above 1 and below 2")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if isLiquid {
		if pressure < ambient {
			return document.Refuse(
				document.CodeRange, "pressure_pa", "a liquid under vacuum stores nothing by compression",
			)
		}
		e := Liquid(volume, pressure-ambient, bulk)
		out.Number("liquid_j", e)
		out.Text("level", Level(e))
		return nil
	}
	if pressure < ambient {
		e := Implosion(volume, pressure, ambient)
		out.Number("implosion_j", e)
		out.Text("level", Level(e))
		return nil
	}
	e := Stored(Gas{volume, pressure, ambient, k})
	WriteGas(out, e)
	if PCC2Applies(k, pressure) {
		WritePCC2(out, PCC2(volume, pressure))
	}
	out.Text("level", Level(e.Isentropic))
	out.BeginList("warnings")
	if ambient < ruleAmbient && k == ruleHeats {
		out.Warn("ambient", "ambient_pa", "the distance rule keeps its fixed 101 kPa outside; at this height the isentropic energy with the real ambient is the larger")
	}
	out.EndList()
	return nil
}

// WriteGas writes the energies of a gas as fields of the open object.
func WriteGas(out *document.Writer, e Energies) {
	out.Number("brode_j", e.Brode)
	out.Number("isentropic_j", e.Isentropic)
	out.Number("isothermal_j", e.Isothermal)
	out.Number("availability_j", e.Availability)
	out.Number("tnt_kg", e.Isentropic/perKilogramTNT)
}

// WritePCC2 writes the outcome of the distance rule as the object pcc2.
func WritePCC2(out *document.Writer, x Exclusion) {
	out.BeginObject("pcc2")
	out.Number("energy_j", x.EnergyJ)
	out.Number("tnt_kg", x.TNTkg)
	out.Number("distance_m", x.DistanceM)
	out.Number("floor_m", x.FloorM)
	out.Number("required_m", x.RequiredM)
	out.End()
}

func calculateFill(in *document.Reader, out *document.Writer) error {
	from, to := in.Positive("from_pa"), in.Positive("to_pa")
	t := in.Positive("temperature_k")
	k := in.NumberOr("ratio_of_heats", 1.4)
	if in.Err() == nil && to < from {
		in.Fail(document.CodeRange, "to_pa", "must not be below from_pa")
	}
	if in.Err() == nil && !(k > 1 && k < 2) {
		in.Fail(document.CodeRange, "ratio_of_heats", "must be above 1 and below 2")
	}
	if err := in.Err(); err != nil {
		return err
	}
	f := Fill(from, to, t, k)
	out.Number("temperature_k", f.TemperatureK)
	out.Number("after_cooling_pa", f.AfterCoolingPa)
	return nil
}
