package units

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Calculations returns the calculation units.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "units", Call: calculateUnits}}
}

func calculateUnits(in *document.Reader, out *document.Writer) error {
	if in.Flag("list", false) {
		if err := in.Err(); err != nil {
			return err
		}
		list(out)
		return nil
	}
	quantity, to := in.Text("quantity"), Of(in, "to")
	if err := in.Err(); err != nil {
		return err
	}
	q, err := Parse(quantity)
	if err != nil {
		return err
	}
	si := q.Unit.ExactSI(q.Exact)
	if q.Unit.Kind == Temperature && si.Sign() < 0 {
		return document.Refuse(document.CodeRange, "quantity", "the temperature lies below absolute zero")
	}
	temperature, given := in.OptionalDecimal("temperature_k")
	if err := in.Err(); err != nil {
		return err
	}
	across := q.Unit.Kind == Leak && to.Kind == Flow || q.Unit.Kind == Flow && to.Kind == Leak
	switch {
	case across && !given:
		return document.Refuse(
			document.CodeMissing, "temperature_k",
			"between pressure·volume and amount of gas the gas temperature is needed",
		)
	case across:
		t, ok := numeric.ParseExact(temperature.Text)
		if !ok || t.Sign() <= 0 {
			return document.Refuse(document.CodeRange, "temperature_k", "must be above zero")
		}
		// ideal gas: pV/t = R·T·n/t, R of the SI
		r, _ := numeric.ParseExact(strconv.FormatFloat(MolarGas, 'g', -1, 64))
		if q.Unit.Kind == Flow {
			si = si.Mul(r).Mul(t)
		} else {
			si, _ = si.Div(r.Mul(t))
		}
	case given:
		return document.Refuse(
			document.CodeConflict, "temperature_k", "a gas temperature has no part in this conversion",
		)
	case q.Unit.Kind != to.Kind:
		return document.Refuse(
			document.CodeUnit, "to",
			to.Name+" is a unit of "+string(to.Kind)+"; the quantity is of "+string(q.Unit.Kind),
		)
	}
	out.Number("value", to.ExactFromSI(si).Float())
	out.Text("unit", to.Name)
	return nil
}

func list(out *document.Writer) {
	out.BeginList("units")
	for i := range table {
		u := &table[i]
		out.Begin()
		out.Text("unit", u.Name)
		out.Text("kind", string(u.Kind))
		out.Number("factor", u.Factor)
		if u.shift != "" {
			out.Number("shift", u.Shift)
		}
		text := u.num
		if u.den != "1" {
			text += "/" + u.den
		}
		out.Text("factor_text", text)
		out.Flag("exact", u.Exact)
		out.Text("ucum", u.UCUM)
		if len(u.Spellings) > 0 {
			out.BeginList("spellings")
			for _, s := range u.Spellings {
				out.TextItem(s)
			}
			out.EndList()
		}
		out.End()
	}
	out.EndList()
}
