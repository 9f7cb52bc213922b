package calc_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/calc/calctest"
	"gaugewright/calc/medium"
)

type example struct {
	ID, Source  string
	Calculation string `json:"calculation"`
	Inputs      map[string]any
	Expected    map[string]any
	Tolerance   struct {
		Kind  string
		Value float64
	}
}

func metrology(t *testing.T) []example {
	t.Helper()
	var file struct{ Cases []example }
	calctest.Published(t, "metrology", &file)
	return file.Cases
}

func call(t *testing.T, calculation string, in map[string]any) map[string]any {
	t.Helper()
	doc, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	var out map[string]any
	if err := json.Unmarshal(calc.Call(calculation, doc), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func (c example) near(t *testing.T, got any, want float64) {
	t.Helper()
	g, ok := got.(float64)
	if !ok {
		t.Errorf("%s: no number in the output: %v", c.ID, got)
		return
	}
	limit := c.Tolerance.Value
	if c.Tolerance.Kind == "rel" {
		limit *= math.Abs(want)
	}
	if d := math.Abs(g - want); !(d <= limit) {
		t.Errorf("%s: got %v, want %v, difference %g, tolerance %g (%s)", c.ID, g, want, d, limit, c.Source)
	}
}

// rename gives the fields of a check the names of the contract. A field without a rule fails, ""
// drops it.
func rename(t *testing.T, c example, rules map[string]string, in map[string]any) map[string]any {
	t.Helper()
	out := map[string]any{}
	for k, v := range in {
		to, ok := rules[k]
		if !ok {
			t.Fatalf("%s: no rule for the field %q", c.ID, k)
		}
		if to != "" {
			out[to] = v
		}
	}
	return out
}

func TestMediumAgainstChecks(t *testing.T) {
	done := map[string]int{}
	for _, c := range metrology(t) {
		switch c.Calculation {
		case "gravity":
			checkGravity(t, c)
		case "air":
			checkAir(t, c)
		case "fluid":
			in := rename(t, c, map[string]string{"fluid": "fluid", "model": "", "temperature_c": "temperature_c", "absolute_pressure_pa": "pressure_pa",
				"molar_mass_kg_mol": "", "gas_constant_j_mol_k": ""}, c.Inputs)
			c.near(t, call(t, "fluid", in)["density_kg_m3"], c.Expected["density_kg_m3"].(float64))
		case "head":
			checkHead(t, c)
		case "balance":
			checkBalance(t, c)
		default:
			continue // the calculations of other tests
		}
		done[c.Calculation]++
	}
	for _, calculation := range []string{"gravity", "air", "fluid", "head", "balance"} {
		if done[calculation] == 0 {
			t.Errorf("no case of calculation %s was checked", calculation)
		}
	}
}

func checkGravity(t *testing.T, c example) {
	t.Helper()
	switch {
	case c.Expected["somigliana_k"] != nil:
		e := medium.WGS84
		if strings.EqualFold(c.Inputs["ellipsoid"].(string), "grs80") {
			e = medium.GRS80
		}
		c.near(t, e.SomiglianaK(), c.Expected["somigliana_k"].(float64))
	case c.Expected["gravity_change_m_s2"] != nil:
		at := func(h float64) float64 {
			g, err := medium.NormalGravity(medium.WGS84, 45, h)
			if err != nil {
				t.Fatal(err)
			}
			return g
		}
		c.near(t, (at(500)-at(0))/500, c.Expected["gravity_change_m_s2"].(float64))
	case c.Inputs["method"] == "standard gravity":
		c.near(t, medium.StandardGravity, c.Expected["gravity_m_s2"].(float64))
	default:
		in := map[string]any{
			"latitude_deg": c.Inputs["latitude_deg"], "height_m": c.Inputs["height_m"],
			"ellipsoid": strings.ToLower(c.Inputs["ellipsoid"].(string)),
		}
		c.near(t, call(t, "gravity", in)["gravity_m_s2"], c.Expected["gravity_m_s2"].(float64))
	}
}

func checkAir(t *testing.T, c example) {
	t.Helper()
	if c.Inputs["method"] != "CIPM-2007" {
		// The short form of OIML R 111 (from memory) is a different formula: it must agree with
		// ours within its own 2e-4.
		in := rename(
			t, c,
			map[string]string{
				"method": "", "pressure_pa": "pressure_pa", "pressure_hpa": "",
				"temperature_c": "temperature_c", "relative_humidity_fraction": "humidity",
				"relative_humidity_percent": "",
			},
			c.Inputs,
		)
		if p, ok := c.Inputs["pressure_hpa"].(float64); ok {
			in["pressure_pa"] = p * 100
		}
		if h, ok := c.Inputs["relative_humidity_percent"].(float64); ok {
			in["humidity"] = h / 100
		}
		got := call(t, "air", in)["density_kg_m3"].(float64)
		if want := c.Expected["air_density_kg_m3"].(float64); math.Abs(got-want) > 2e-4*want {
			t.Errorf("%s: CIPM-2007 gives %v, the short form %v", c.ID, got, want)
		}
		return
	}
	in := rename(
		t, c,
		map[string]string{
			"method": "", "pressure_pa": "pressure_pa", "temperature_c": "temperature_c",
			"relative_humidity_fraction": "humidity", "co2_mole_fraction": "co2",
		},
		c.Inputs,
	)
	out := call(t, "air", in)
	for name, field := range map[string]string{"air_density_kg_m3": "density_kg_m3", "saturation_vapour_pressure_pa": "saturation_pa",
		"water_vapour_mole_fraction": "vapour_fraction", "compressibility_factor": "compressibility"} {
		if want, ok := c.Expected[name].(float64); ok {
			c.near(t, out[field], want)
		}
	}
}

func checkHead(t *testing.T, c example) {
	t.Helper()
	in := rename(t, c, map[string]string{"pressure_mode": "", "column_model": "", "fluid_density_kg_m3": "fluid_density_kg_m3", "air_density_kg_m3": "air_density_kg_m3",
		"gravity_m_s2": "gravity_m_s2", "height_of_standard_above_item_m": "standard_above_m"}, c.Inputs)
	in["mode"] = strings.Fields(c.Inputs["pressure_mode"].(string))[0]
	got := call(t, "head", in)["correction_pa"]
	if sign, ok := c.Expected["head_correction_sign"].(float64); ok {
		if g, ok := got.(float64); !ok || g*sign <= 0 {
			t.Errorf("%s: got %v, want the sign of %v", c.ID, got, sign)
		}
		return
	}
	c.near(t, got, c.Expected["head_correction_pa"].(float64))
}

func checkBalance(t *testing.T, c example) {
	t.Helper()
	var weights []map[string]any
	for _, l := range c.Inputs["loads"].([]any) {
		load := l.(map[string]any)
		w := map[string]any{"density_kg_m3": load["density_kg_m3"], "kind": "true", "mass_kg": load["true_mass_kg"]}
		if m, ok := load["conventional_mass_kg"]; ok {
			w["mass_kg"], w["kind"] = m, "conventional"
		}
		weights = append(weights, w)
	}
	in := map[string]any{"weights": weights, "air_density_kg_m3": c.Inputs["air_density_kg_m3"]}
	if want, ok := c.Expected["buoyed_force_over_conventional_mass_and_gravity"].(float64); ok {
		in["area_m2"], in["gravity_m_s2"] = 1e-4, 9.80665
		p, ok := call(t, "balance", in)["pressure_pa"].(float64)
		if !ok {
			t.Fatalf("%s: no pressure", c.ID)
		}
		c.near(t, p*1e-4/9.80665, want)
		return
	}
	for to, from := range map[string]string{"gravity_m_s2": "gravity_m_s2", "area_m2": "effective_area_m2", "temperature_c": "temperature_c",
		"expansion_per_k": "thermal_expansion_sum_1_k", "distortion_per_pa": "distortion_coefficient_1_pa", "surface_tension_n_m": "surface_tension_n_m",
		"submerged_volume_m3": "submerged_volume_m3"} {
		if v, ok := c.Inputs[from]; ok {
			in[to] = v
		}
	}
	c.near(t, call(t, "balance", in)["pressure_pa"], c.Expected["pressure_pa"].(float64))
}

func TestGasColumnAgreesWithUniformForShortHeights(t *testing.T) {
	// Derived here: over 1 m of nitrogen the isothermal column and p·M/(Z·R·T)·g·h differ by half the
	// relative change, about 6e-5.
	gas := call(
		t, "head",
		map[string]any{
			"mode": "absolute", "standard_above_m": 1, "gravity_m_s2": 9.80665, "gas": "nitrogen",
			"temperature_c": 20, "pressure_pa": 1e6,
		},
	)["correction_pa"].(float64)
	rho := call(
		t, "fluid", map[string]any{"fluid": "nitrogen", "temperature_c": 20, "pressure_pa": 1e6},
	)["density_kg_m3"].(float64)
	if uniform := rho / medium.Compressibility("nitrogen", 1e6, 20) * 9.80665; math.Abs(gas/uniform-1) > 1e-4 ||
		gas <= uniform {
		t.Errorf("column %v Pa, uniform %v Pa", gas, uniform)
	}
}

func TestMediumRefuses(t *testing.T) {
	tests := []struct{ calculation, doc, code, field string }{
		{"gravity", `{"latitude_deg":91}`, "range", "latitude_deg"},
		{"fluid", `{"fluid":"nitrogen","temperature_c":20}`, "missing", "pressure_pa"},
		{"fluid", `{"fluid":"honey","temperature_c":20}`, "range", "fluid"},
		{"air", `{"pressure_pa":101325,"temperature_c":20,"humidity":50}`, "range", "humidity"},
		{"head", `{"mode":"absolute","standard_above_m":1,"gravity_m_s2":9.8,"fluid_density_kg_m3":998,"air_density_kg_m3":1.2}`, "conflict", "air_density_kg_m3"},
		{"head", `{"mode":"gauge","standard_above_m":1,"gravity_m_s2":9.8}`, "missing", "fluid_density_kg_m3"},
		{"balance", `{"weights":[{"mass_kg":1,"density_kg_m3":8000,"kind":"true"}],"area_m2":1e-4,"gravity_m_s2":9.8,"mode":"absolute"}`, "missing", "residual_pa"},
		{"balance", `{"weights":[],"area_m2":1e-4,"gravity_m_s2":9.8}`, "shape", "weights"},
		{"nowhere", `{}`, "range", "calculation"},
	}
	for _, tt := range tests {
		var out struct{ Error struct{ Code, Field string } }
		if err := json.Unmarshal(calc.Call(tt.calculation, []byte(tt.doc)), &out); err != nil {
			t.Fatal(err)
		}
		if out.Error.Code != tt.code || out.Error.Field != tt.field {
			t.Errorf(
				"%s %s: got %s at %q, want %s at %q", tt.calculation, tt.doc, out.Error.Code,
				out.Error.Field, tt.code, tt.field,
			)
		}
	}
}
