package airdata_test

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"

	"gaugewright/calc/airdata"
	"gaugewright/calc/calctest"
)

// call runs a calculation of this package and returns its output.
func call(t testing.TB, calculation string, in map[string]any) map[string]any {
	t.Helper()
	b, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range airdata.Calculations() {
		if d.Name != calculation {
			continue
		}
		var out map[string]any
		reply := d.Run(b, "test")
		if err := json.Unmarshal(reply, &out); err != nil {
			t.Fatalf("%s: %v in %s", calculation, err, reply)
		}
		return out
	}
	t.Fatalf("no calculation %s", calculation)
	return nil
}

func must(t testing.TB, calculation string, in map[string]any) map[string]any {
	t.Helper()
	out := call(t, calculation, in)
	if out["error"] != nil {
		t.Errorf("%s %v: %v", calculation, in, out["error"])
	}
	return out
}

type tolerance struct {
	Kind  string
	Value float64
}

func (l tolerance) holds(t *testing.T, got, want float64) bool {
	t.Helper()
	switch l.Kind {
	case "relative":
		return math.Abs(got-want) <= l.Value*math.Abs(want)
	case "absolute":
		return math.Abs(got-want) <= l.Value
	case "exact":
		return got == want
	}
	t.Errorf("unknown kind of tolerance %q", l.Kind)
	return false
}

type tableCase struct {
	ID, Kind, Source string
	Inputs           map[string]any
	Expected         map[string]any
	Tolerance        tolerance
	Fields           map[string]tolerance `json:"field_tolerances"`
}

func (c tableCase) n(name string) float64 {
	x, ok := c.Inputs[name].(float64)
	if !ok {
		return math.NaN()
	}
	return x
}

// Units of the check files, exact or conventional.
const (
	inHg  = 3386.388640341
	psf   = 47.880258980335843
	mmHg  = 133.322387415
	inH2O = 249.08891
)

type values = map[string]any

// adapt turns the inputs of each kind of case into requests to the calculations, and the reply into
// the fields that the case expects.
var adapt = map[string]func(t *testing.T, c tableCase) values{
	"atmosphere_metre":           atmosphere,
	"atmosphere_feet":            atmosphere,
	"pressure_to_altitude":       pressureToAltitude,
	"indicated_altitude":         indicatedAltitude,
	"qnh_from_qfe":               qnhFromQFE,
	"cas_to_impact":              casToImpact,
	"cas_to_impact_units":        casToImpact,
	"cas_to_impact_published":    casToImpactPublished,
	"altitude_cas":               altitudeCAS,
	"altitude_cas_published":     altitudeCAS,
	"pitot_ratio":                pitotRatio,
	"pitot_ratio_published":      pitotRatio,
	"mach_to_cas":                machToCAS,
	"pressure_rates":             pressureRates,
	"vertical_speed":             verticalSpeed,
	"pressure_midpoint_altitude": midpoint,
	"reversed_pressure":          reversed,
	"pitot_open_static_evacuated": func(t *testing.T, c tableCase) values {
		static := must(t, "airdata", values{"altitude_ft": c.n("altitude_ft")})["static_pa"]
		return must(t, "airdata", values{"static_pa": static, "total_pa": c.n("ambient_pa")})
	},
	"altitude_of_differential": func(t *testing.T, c tableCase) values {
		return must(t, "airdata", values{"static_pa": c.n("reference_hpa")*100 - c.n("differential_inhg")*inHg})
	},
	"differential_between_altitudes": func(t *testing.T, c tableCase) values {
		return step(t, c.n("altitude_from_ft"), c.n("altitude_to_ft"))
	},
	"altitude_step_to_pressure": func(t *testing.T, c tableCase) values {
		return step(t, c.n("altitude_ft"), c.n("altitude_ft")+c.n("step_up_ft"))
	},
	"impact_between_cas": func(t *testing.T, c tableCase) values {
		a := must(t, "airdata", values{"altitude_ft": 0, "cas_kt": c.n("cas_from_kt")})["impact_pa"].(float64)
		b := must(t, "airdata", values{"altitude_ft": 0, "cas_kt": c.n("cas_to_kt")})["impact_pa"].(float64)
		return values{"impact_change_pa": a - b, "impact_change_inhg": (a - b) / inHg, "impact_change_inh2o": (a - b) / inH2O}
	},
	"part43e_table_1":           table1,
	"part43e_table_2":           table2,
	"part43e_table_3":           table3,
	"part43e_table_4":           table4,
	"verdict_scale_error":       renamed(airdata.TestScale, "error_ft", values{"altitude_ft": "altitude_ft", "reading_ft": "reading_ft"}),
	"verdict_hysteresis":        renamed(airdata.TestHysteresis, "hysteresis_ft", values{"max_altitude_ft": "max_altitude_ft", "altitude_ft": "altitude_ft", "ascending_reading_ft": "ascending_ft", "descending_reading_ft": "descending_ft"}),
	"verdict_after_effect":      renamed(airdata.TestAfterEffect, "after_effect_ft", values{"original_reading_ft": "original_ft", "after_reading_ft": "after_ft", "ambient_change_equivalent_ft": "ambient_change_ft"}),
	"verdict_friction":          renamed(airdata.TestFriction, "friction_ft", values{"altitude_ft": "altitude_ft", "reading_before_vibration_ft": "before_ft", "reading_after_vibration_ft": "after_ft"}),
	"verdict_case_leak":         renamed(airdata.TestCaseLeak, "loss_ft", values{"altitude_ft": "altitude_ft", "reading_start_ft": "start_ft", "reading_after_1_min_ft": "end_ft"}),
	"verdict_barometric_scale":  renamed(airdata.TestBarometric, "deviation_ft", values{"subscale_inhg": "setting_inhg", "reading_at_29_92_ft": "reading_at_29_92_ft", "reading_ft": "reading_ft"}),
	"verdict_reported_altitude": renamed(airdata.TestCorrespondence, "difference_ft", values{"reported_altitude_ft": "reported_ft", "displayed_altitude_ft": "displayed_ft"}),
	"verdict_rvsm":              separation,
	"rvsm_limit_group":          separationGroup,
	"rvsm_limit_non_group":      separationNonGroup,
	"cabin_leak_limit": func(t *testing.T, c tableCase) values {
		out := must(t, "pitot_static_leak", values{"kind": "static", "start": 1000, "end": 1000, "minutes": 1, "cabin_psi": c.n("cabin_differential_psi")})
		return values{"equivalent_altitude_ft": out["equivalent_altitude_ft"], "limit_ft": out["limit"]}
	},
	"static_leak_loss": func(t *testing.T, c tableCase) values {
		return must(t, "pitot_static_leak", values{"kind": "static", "start": c.n("altitude_ft"), "pressure_change_pa": c.n("static_rise_pa"), "minutes": 1})
	},
	"pitot_leak_remaining": func(t *testing.T, c tableCase) values {
		out := must(t, "pitot_static_leak", values{"kind": "pitot", "start": c.n("cas_kt"), "pressure_change_pa": c.n("impact_loss_inhg") * inHg, "minutes": 1})
		return values{"cas_kt": out["end"]}
	},
	"verdict_pitot_leak_limit": func(t *testing.T, c tableCase) values {
		out := must(t, "pitot_static_leak", values{"kind": "pitot", "start": c.n("cas_kt"), "end": 140, "minutes": c.n("duration_s") / 60})
		if out["verdict"] != "pass" {
			t.Errorf("%s: a loss equal to the limit must pass", c.ID)
		}
		return values{"limit_loss_kt": out["limit"]}
	},
	"profile_point": profilePoint,
	"combined_move": combinedMove,
}

func atmosphere(t *testing.T, c tableCase) values {
	in := values{}
	for _, k := range []string{"altitude_m", "altitude_ft"} {
		if x, ok := c.Inputs[k]; ok {
			in[k] = x
		}
	}
	out := must(t, "airdata", in)
	out["sound_speed_m_s"] = out["sound_m_s"]
	out["pressure_gradient_pa_per_ft"] = out["static_pa_per_ft"]
	in["model"] = "ussa1976"
	out["static_pa_ussa1976"] = must(t, "airdata", in)["static_pa"]
	return out
}

func pressureToAltitude(t *testing.T, c tableCase) values {
	p := c.n("static_hpa") * 100
	if x, ok := c.Inputs["static_inhg"].(float64); ok {
		p = x * inHg
	}
	return must(t, "airdata", values{"static_pa": p})
}

func indicatedAltitude(t *testing.T, c tableCase) values {
	out := must(t, "airdata", values{"static_pa": c.n("static_hpa") * 100, "setting_pa": c.n("subscale_hpa") * 100})
	return values{"indicated_altitude_ft": out["indicated_ft"]}
}

func qnhFromQFE(t *testing.T, c tableCase) values {
	qfe := c.n("qfe_hpa") * 100
	out := must(t, "airdata", values{"static_pa": qfe, "field_pa": qfe, "elevation_ft": c.n("elevation_ft")})
	qnh := out["qnh_pa"].(float64)
	back, err := airdata.ISO().FieldPressure(qnh, c.n("elevation_ft"))
	if err != nil || math.Abs(back-qfe) > 1e-9*qfe {
		t.Errorf("%s: QFE of the QNH: got %v (%v), want %v", c.ID, back, err, qfe)
	}
	return values{"qnh_hpa": qnh / 100}
}

func casToImpact(t *testing.T, c tableCase) values {
	out := must(t, "airdata", values{"altitude_ft": 0, "cas_kt": c.n("cas_kt")})
	q := out["impact_pa"].(float64)
	return values{"impact_pa": q, "impact_inhg": q / inHg, "impact_inh2o": q / inH2O, "impact_slope_pa_per_kt": out["impact_pa_per_kt"]}
}

func casToImpactPublished(t *testing.T, c tableCase) values {
	kt := c.n("cas_kt")
	if x, ok := c.Inputs["cas_mph"].(float64); ok {
		kt = x * 1609.344 / 1852
	}
	if x, ok := c.Inputs["cas_km_h"].(float64); ok {
		kt = x / 1.852
	}
	q := must(t, "airdata", values{"altitude_ft": 0, "cas_kt": kt})["impact_pa"].(float64)
	got := values{}
	for unit, pascals := range map[string]float64{"pa": 1, "psf": psf, "mmhg": mmHg, "inhg": inHg} {
		got["impact_"+unit] = q / pascals
		got["impact_"+unit+"_published"] = q / pascals
		if p, ok := c.Expected["impact_"+unit+"_published"].(float64); ok {
			back := must(t, "airdata", values{"altitude_ft": 0, "impact_pa": p * pascals})["cas_kt"].(float64)
			if math.Abs(back-kt) > 0.007 {
				t.Errorf("%s: CAS of the published impact pressure: got %v, want %v within 0.007", c.ID, back, kt)
			}
		}
	}
	return got
}

func altitudeCAS(t *testing.T, c tableCase) values {
	in := values{"altitude_ft": c.n("altitude_ft"), "cas_kt": c.n("cas_kt")}
	if f, ok := c.Inputs["temperature_f"].(float64); ok {
		in["temperature_c"] = (f - 32) / 1.8
	}
	return must(t, "airdata", in)
}

func pitotRatio(t *testing.T, c tableCase) values {
	out := must(t, "airdata", values{"altitude_ft": 20000, "mach": c.n("mach")})
	r := out["total_pa"].(float64) / out["static_pa"].(float64)
	return values{"total_over_static": r, "static_over_total": 1 / r}
}

func machToCAS(t *testing.T, c tableCase) values {
	return must(t, "airdata", values{"altitude_ft": c.n("altitude_ft"), "mach": c.n("mach")})
}

func pressureRates(t *testing.T, c tableCase) values {
	return must(t, "airdata", values{"altitude_ft": c.n("altitude_ft"), "cas_kt": c.n("cas_kt"), "climb_ft_min": c.n("roc_ft_min"), "cas_rate_kt_min": c.n("cas_rate_kt_min")})
}

func verticalSpeed(t *testing.T, c tableCase) values {
	out := must(t, "airdata", values{"altitude_ft": c.n("altitude_ft"), "static_rate_pa_s": c.n("static_rate_pa_s")})
	return values{"roc_ft_min": out["climb_ft_min"]}
}

func midpoint(t *testing.T, c tableCase) values {
	a := must(t, "airdata", values{"altitude_ft": c.n("altitude_from_ft")})["static_pa"].(float64)
	b := must(t, "airdata", values{"altitude_ft": c.n("altitude_to_ft")})["static_pa"].(float64)
	return must(t, "airdata", values{"static_pa": (a + b) / 2})
}

func step(t *testing.T, from, to float64) values {
	a := must(t, "airdata", values{"altitude_ft": from})["static_pa"].(float64)
	b := must(t, "airdata", values{"altitude_ft": to})["static_pa"].(float64)
	return values{"differential_pa": a - b, "differential_inhg": (a - b) / inHg, "differential_inh2o": (a - b) / inH2O}
}

func reversed(t *testing.T, c tableCase) values {
	total := must(t, "airdata", values{"altitude_ft": c.n("start_altitude_ft"), "cas_kt": c.n("start_cas_kt")})["total_pa"].(float64)
	out := must(t, "airdata", values{"static_pa": c.n("static_pa"), "total_pa": total})
	for _, none := range []string{"cas_kt", "mach", "tas_kt", "eas_kt"} {
		if x, ok := out[none]; ok {
			t.Errorf("%s: %s is %v, but reversed pressure has none", c.ID, none, x)
		}
	}
	q := out["impact_pa"].(float64)
	equal := must(t, "airdata", values{"static_pa": total})["altitude_ft"]
	return values{"impact_pa": q, "impact_inhg": q / inHg, "state": out["state"], "altitude_where_static_equals_total_ft": equal}
}

func table1(t *testing.T, c tableCase) values {
	out := must(t, "altimeter", values{"test": "scale", "altitude_ft": c.n("altitude_ft"), "reading_ft": c.n("altitude_ft")})
	printed := out["table_static_inhg"].(float64)
	return values{
		"table_static_inhg": printed, "tolerance_ft": out["tolerance_ft"], "static_inhg": out["static_pa"].(float64) / inHg,
		"altitude_of_table_pressure_ft": must(t, "airdata", values{"static_pa": printed * inHg})["altitude_ft"],
	}
}

func table2(t *testing.T, c tableCase) values {
	requests := map[string]values{
		"case_leak":                          {"test": "case-leak", "start_ft": 18000, "end_ft": 18000},
		"hysteresis_first_point_50_percent":  {"test": "hysteresis", "max_altitude_ft": 20000, "altitude_ft": 10000, "ascending_ft": 10000, "descending_ft": 10000},
		"hysteresis_second_point_40_percent": {"test": "hysteresis", "max_altitude_ft": 20000, "altitude_ft": 8000, "ascending_ft": 8000, "descending_ft": 8000},
		"after_effect":                       {"test": "after-effect", "original_ft": 0, "after_ft": 0},
	}
	in, ok := requests[c.Inputs["test"].(string)]
	if !ok {
		t.Fatalf("%s: unknown test %v", c.ID, c.Inputs["test"])
	}
	return must(t, "altimeter", in)
}

func table3(t *testing.T, c tableCase) values {
	return must(t, "altimeter", values{"test": "friction", "altitude_ft": c.n("altitude_ft"), "before_ft": 0, "after_ft": 0})
}

func table4(t *testing.T, c tableCase) values {
	setting := c.n("subscale_inhg")
	out := must(t, "altimeter", values{"test": "barometric", "setting_inhg": setting, "reading_at_29_92_ft": 0, "reading_ft": 0})
	out["minus_pressure_altitude_ft"] = -must(t, "airdata", values{"static_pa": setting * inHg})["altitude_ft"].(float64)
	return out
}

// renamed sends a case to the calculation altimeter with its fields under the calculation's names.
func renamed(test, errorName string, names values) func(*testing.T, tableCase) values {
	return func(t *testing.T, c tableCase) values {
		in := values{"test": test}
		for name, x := range c.Inputs {
			to, ok := names[name].(string)
			if !ok {
				t.Fatalf("%s: unknown input %s", c.ID, name)
			}
			in[to] = x
		}
		out := must(t, "altimeter", in)
		if errorName == "deviation_ft" {
			out["deviation_ft"] = out["error_ft"]
			return out
		}
		out[errorName] = out["error_ft"]
		return out
	}
}

func separation(t *testing.T, c tableCase) values {
	group := map[float64]string{200: "later-full", 245: "earlier-full"}[c.n("limit_ft")]
	out := must(t, "altimeter", values{"test": "rvsm", "group": group, "mean_ft": c.n("mean_ft"), "sigma_ft": c.n("sigma_ft")})
	if out["tolerance_ft"] != c.n("limit_ft") {
		t.Errorf("%s: limit %v, want %v", c.ID, out["tolerance_ft"], c.n("limit_ft"))
	}
	out["mean_plus_3_sigma_ft"] = out["error_ft"]
	return out
}

func separationGroup(t *testing.T, c tableCase) values {
	group, ok := map[string]string{
		"group, applied on or before 9 Apr 1997, basic envelope": "earlier-basic",
		"group, applied on or before 9 Apr 1997, full envelope":  "earlier-full",
		"group, applied after 9 Apr 1997, full envelope":         "later-full",
	}[c.Inputs["aircraft"].(string)]
	if !ok {
		t.Fatalf("%s: unknown aircraft %v", c.ID, c.Inputs["aircraft"])
	}
	out := must(t, "altimeter", values{"test": "rvsm", "group": group, "mean_ft": 0, "sigma_ft": 0})
	return values{"mean_limit_ft": out["mean_tolerance_ft"], "mean_plus_3_sigma_limit_ft": out["tolerance_ft"]}
}

func separationNonGroup(t *testing.T, c tableCase) values {
	out := must(t, "altimeter", values{"test": "rvsm", "group": "non-group-" + c.Inputs["envelope"].(string), "residual_ft": 0, "avionics_ft": 0})
	return values{"residual_static_plus_avionics_limit_ft": out["tolerance_ft"]}
}

func profilePoint(t *testing.T, c tableCase) values {
	out := must(t, "profile", values{
		"from":             values{"altitude_ft": c.n("start_altitude_ft"), "cas_kt": c.n("start_cas_kt")},
		"to":               values{"altitude_ft": c.n("end_altitude_ft"), "cas_kt": c.n("end_cas_kt")},
		"max_climb_ft_min": c.n("roc_ft_min"), "max_cas_rate_kt_min": c.n("cas_rate_kt_min"), "interval_s": 20,
	})
	for _, p := range out["points"].([]any) {
		if p := p.(values); p["t_s"] == c.n("time_s") {
			return p
		}
	}
	t.Fatalf("%s: no point at %v s", c.ID, c.n("time_s"))
	return nil
}

func combinedMove(t *testing.T, c tableCase) values {
	out := must(t, "profile", values{
		"from":             values{"altitude_ft": 0, "cas_kt": 0},
		"to":               values{"altitude_ft": c.n("altitude_change_ft"), "cas_kt": c.n("cas_change_kt")},
		"max_climb_ft_min": c.n("max_roc_ft_min"), "max_cas_rate_kt_min": c.n("max_cas_rate_kt_min"), "interval_s": 60,
	})
	points := out["points"].([]any)
	a, b := points[0].(values), points[1].(values)
	rate := (b["cas_kt"].(float64) - a["cas_kt"].(float64)) / (b["t_s"].(float64) - a["t_s"].(float64)) * 60
	return values{"duration_s": out["duration_s"], "cas_rate_kt_min": rate}
}

// TestTables checks every case of airdata_tables.json within its stated tolerance: values computed
// independently (mpmath, 50 digits) and published ones, each with its source in the file.
func TestTables(t *testing.T) {
	var file struct{ Cases []tableCase }
	calctest.Published(t, "airdata_tables", &file)
	if len(file.Cases) == 0 {
		t.Fatal("no cases")
	}
	compared := 0
	for _, c := range file.Cases {
		f, ok := adapt[c.Kind]
		if !ok {
			t.Errorf("%s: unknown kind %q", c.ID, c.Kind)
			continue
		}
		got := f(t, c)
		if len(c.Expected) == 0 {
			t.Errorf("%s expects nothing", c.ID)
		}
		for name, want := range c.Expected {
			limit, ok := c.Fields[name]
			if !ok {
				limit = c.Tolerance
			}
			compared++
			g, isNumber := got[name].(float64)
			w, wantNumber := want.(float64)
			switch {
			case !wantNumber && got[name] != want:
				t.Errorf("%s %s: got %v, want %v", c.ID, name, got[name], want)
			case wantNumber && !isNumber:
				t.Errorf("%s %s: got %v, want %v", c.ID, name, got[name], want)
			case wantNumber && !limit.holds(t, g, w):
				t.Errorf("%s %s: got %v, want %v, difference %g, tolerance %v", c.ID, name, g, w, g-w, limit)
			}
		}
	}
	t.Logf("%d cases, %d values", len(file.Cases), compared)
}

// TestPoints checks the 134 random points and the edge points of airdata.json, computed
// independently with mpmath (50 digits): forward and rates 1e-12 relative, Mach and TAS 1e-11,
// altitude 0.001 ft and CAS 1e-6 kt back from the pressures.
func TestPoints(t *testing.T) {
	var file struct {
		Points, Edge []struct {
			ID  any
			Inp map[string]string
			Out map[string]string
		}
	}
	calctest.Published(t, "airdata", &file)
	if len(file.Points) == 0 || len(file.Edge) == 0 {
		t.Fatal("no points")
	}
	names := map[string]string{
		"h_m": "altitude_m", "ps_pa": "static_pa", "ps_inhg": "static_inhg", "t_k": "temperature_k", "rho_kg_m3": "density_kg_m3",
		"qc_pa": "impact_pa", "pt_pa": "total_pa", "mach": "mach", "a_m_s": "sound_m_s", "tas_kt": "tas_kt", "eas_kt": "eas_kt",
		"dps_dt_pa_s": "static_rate_pa_s", "dqc_dt_pa_s": "impact_rate_pa_s", "dpt_dt_pa_s": "total_rate_pa_s",
	}
	worst := map[string]float64{}
	m := airdata.ISO()
	all := append(file.Points, file.Edge...)
	for _, p := range all {
		in := values{"altitude_ft": p.Inp["altitude_ft"], "cas_kt": p.Inp["cas_kt"], "climb_ft_min": p.Inp["roc_ft_min"], "cas_rate_kt_min": p.Inp["cas_rate_kt_min"]}
		out := must(t, "airdata", in)
		out["pt_over_ps"] = out["total_pa"].(float64) / out["static_pa"].(float64)
		feet, cas := number(t, p.Inp["altitude_ft"]), number(t, p.Inp["cas_kt"])
		for name, text := range p.Out {
			calculation, ok := names[name]
			if name == "pt_over_ps" {
				calculation, ok = name, true
			}
			if !ok {
				t.Errorf("%v: unknown field %s", p.ID, name)
				continue
			}
			want := number(t, text)
			got := out[calculation].(float64)
			limit := 1e-12
			switch {
			case name == "mach" || name == "tas_kt" || name == "eas_kt":
				limit = 1e-11
			case name == "dpt_dt_pa_s":
				// a sum of two rates of opposite sign: relative to the larger of them
				part := math.Max(math.Abs(number(t, p.Out["dps_dt_pa_s"])), math.Abs(number(t, p.Out["dqc_dt_pa_s"])))
				if math.Abs(got-want) > 1e-12*part {
					t.Errorf("%v %s: got %v, want %v", p.ID, name, got, want)
				}
				continue
			}
			d := math.Abs(got - want)
			if want != 0 {
				d /= math.Abs(want)
			}
			worst[name] = math.Max(worst[name], d)
			if d > limit {
				t.Errorf("%v %s: got %v, want %v, relative %g over %g", p.ID, name, got, want, d, limit)
			}
		}
		h, err := m.Feet(number(t, p.Out["ps_pa"]))
		if err != nil {
			t.Fatal(err)
		}
		c, _ := m.CAS(number(t, p.Out["qc_pa"]))
		worst["altitude back, ft"] = math.Max(worst["altitude back, ft"], math.Abs(h-feet))
		worst["CAS back, kt"] = math.Max(worst["CAS back, kt"], math.Abs(c-cas))
		if math.Abs(h-feet) > 0.001 || math.Abs(c-cas) > 1e-6 {
			t.Errorf("%v back: got %v ft %v kt, want %v ft %v kt", p.ID, h, c, feet, cas)
		}
	}
	for _, n := range []string{"ps_pa", "qc_pa", "pt_pa", "mach", "tas_kt", "eas_kt", "rho_kg_m3", "dps_dt_pa_s", "dqc_dt_pa_s", "altitude back, ft", "CAS back, kt"} {
		t.Logf("worst %s: %.3g", n, worst[n])
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// code returns the error code of a reply, "" without one.
func code(out values) string {
	if e, ok := out["error"].(values); ok {
		return e["code"].(string)
	}
	return ""
}
