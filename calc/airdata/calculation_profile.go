package airdata

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// readCondition reads a condition of the profile: an altitude or static pressure, and an airspeed
// or total pressure (0 kt if neither is given).
func readCondition(in *document.Reader) (Condition, error) {
	metres, static, err := readStatic(iso, in)
	if err != nil {
		return Condition{}, err
	}
	impact, knots, err := readImpact(iso, in, static)
	if err != nil {
		return Condition{}, err
	}
	if impact < 0 {
		return Condition{}, document.Refuse(document.CodeConflict, in.Path("total_pa"),
			"pitot is below static: bring the two together first, then plan from there")
	}
	c := Condition{metres / units.Foot, knots}
	if feet, ok := in.Optional("altitude_ft"); ok {
		c.Feet = feet
	}
	return c, nil
}

func calculateProfile(in *document.Reader, out *document.Writer) error {
	v := Move{Limits: NoLimits()}
	var err error
	if v.From, err = readCondition(in.Object("from")); err != nil {
		if first := in.Err(); first != nil {
			return first
		}
		return err
	}
	switch given(in, "to", "field_pa") {
	case "to":
		if v.To, err = readCondition(in.Object("to")); err != nil {
			if first := in.Err(); first != nil {
				return first
			}
			return err
		}
	case "field_pa":
		v.Field = in.Positive("field_pa")
		if v.To.Feet, err = iso.Feet(v.Field); err != nil {
			return refusedAt(in, "field_pa", err)
		}
	default:
		in.Fail(document.CodeMissing, "to", "a target or the measured field pressure is needed")
	}
	v.Climb = in.Positive("max_climb_ft_min")
	v.Descent = v.Climb
	if in.Has("max_descent_ft_min") {
		v.Descent = in.Positive("max_descent_ft_min")
	} else {
		in.Raw("max_descent_ft_min")
	}
	v.KnotRate = in.Positive("max_cas_rate_kt_min")
	v.Interval = in.Positive("interval_s")
	if l, ok := in.OptionalObject("limits"); ok {
		v.Limits.MaxFeet = l.NumberOr("max_altitude_ft", v.Limits.MaxFeet)
		v.Limits.MinFeet = l.NumberOr("min_altitude_ft", v.Limits.MinFeet)
		v.Limits.MaxKnots = l.NumberOr("max_cas_kt", v.Limits.MaxKnots)
		v.Limits.MaxMach = l.NumberOr("max_mach", v.Limits.MaxMach)
	}
	if err := in.Err(); err != nil {
		return err
	}
	plan, err := iso.PlanMove(v)
	if err != nil {
		return err
	}
	writePlan(out, plan)
	return nil
}

func writePlan(out *document.Writer, plan Plan) {
	out.BeginList("points")
	for _, p := range plan.Points {
		out.Begin()
		out.Number("t_s", p.Seconds)
		out.Number("altitude_ft", p.Feet)
		out.Number("cas_kt", p.Knots)
		out.Number("static_pa", p.Static)
		out.Number("impact_pa", p.Impact)
		out.Number("total_pa", p.Total)
		out.Number("static_rate_pa_s", p.StaticRate)
		out.Number("impact_rate_pa_s", p.ImpactRate)
		out.End()
	}
	out.EndList()
	out.Number("duration_s", plan.Duration)
	out.Text("route", plan.Route)
	out.BeginList("violations")
	for _, x := range plan.Violations {
		out.Begin()
		out.Text("code", x.Code)
		out.Number("from_s", x.From)
		out.Number("until_s", x.Until)
		out.Number("worst", x.Worst)
		out.Number("limit", x.Limit)
		out.End()
	}
	out.EndList()
}
