package calc_test

import (
	"gaugewright/calc/calctest"
	"math"
	"testing"
)

func relative(t *testing.T, id, what string, got any, want, tolerance float64) {
	t.Helper()
	g, ok := got.(float64)
	if !ok || math.Abs(g-want) > tolerance*math.Abs(want) {
		t.Errorf("%s %s: got %v, want %v within %g relative", id, what, got, want, tolerance)
	}
}

// TestEnergyAgainstChecks runs energy.json, computed independently from the published formulas with
// mpmath, to 1e-9 relative.
func TestEnergyAgainstChecks(t *testing.T) {
	var file struct {
		Cases []struct {
			ID     string
			Inputs struct {
				V  float64 `json:"V_m3"`
				P  float64 `json:"p_abs_Pa"`
				Pa float64 `json:"p_ambient_Pa"`
				K  float64 `json:"k"`
			}
			Expected struct {
				Brode, Isentropic, Isothermal, Availability float64
				B                                           float64 `json:"E_brode_J"`
				S                                           float64 `json:"E_isentropic_J"`
				T                                           float64 `json:"E_isothermal_J"`
				A                                           float64 `json:"E_availability_J"`
				Gram                                        float64 `json:"isentropic_TNT_g_at_4184_J_per_g"`
				Over                                        bool    `json:"over_100_kJ_isentropic"`
				PCC2                                        *struct {
					E     float64  `json:"E_J"`
					TNT   float64  `json:"TNT_kg"`
					R     float64  `json:"R_eq_m_2TNT"`
					Floor *float64 `json:"R_floor_m"`
					Need  float64  `json:"R_required_m_2TNT"`
				} `json:"pcc2"`
			}
		}
		Liquid []struct {
			ID     string
			Inputs struct {
				V float64 `json:"V_m3"`
				P float64 `json:"p_gauge_Pa"`
				B float64 `json:"bulk_modulus_Pa"`
			}
			Expected struct {
				E float64 `json:"E_J"`
			}
		} `json:"liquid_cases"`
		Fill []struct {
			ID     string
			Inputs struct {
				P1 float64 `json:"p1_Pa"`
				P2 float64 `json:"p2_Pa"`
				T0 float64 `json:"T0_K"`
				K  float64 `json:"k"`
			}
			Expected struct {
				T2   float64 `json:"T2_K"`
				Cool float64 `json:"p_after_cooling_Pa"`
			}
		} `json:"fill_cases"`
	}
	calctest.Published(t, "energy", &file)
	if len(file.Cases) == 0 || len(file.Liquid) == 0 || len(file.Fill) == 0 {
		t.Fatal("a kind of case is empty")
	}
	for _, c := range file.Cases {
		out := call(
			t, "energy",
			map[string]any{
				"volume_m3": c.Inputs.V, "pressure_pa": c.Inputs.P, "ambient_pa": c.Inputs.Pa,
				"ratio_of_heats": c.Inputs.K,
			},
		)
		relative(t, c.ID, "Brode", out["brode_j"], c.Expected.B, 1e-9)
		relative(t, c.ID, "isentropic", out["isentropic_j"], c.Expected.S, 1e-9)
		relative(t, c.ID, "isothermal", out["isothermal_j"], c.Expected.T, 1e-9)
		relative(t, c.ID, "availability", out["availability_j"], c.Expected.A, 1e-9)
		if c.Expected.Gram != 0 {
			relative(t, c.ID, "TNT", out["tnt_kg"], c.Expected.Gram/1000, 1e-9)
		}
		if high := out["level"] == "high"; high != c.Expected.Over {
			t.Errorf("%s: level %v, over 100 kJ %v", c.ID, out["level"], c.Expected.Over)
		}
		if want := c.Expected.PCC2; want != nil {
			got, ok := out["pcc2"].(map[string]any)
			if !ok {
				t.Errorf("%s: no pcc2", c.ID)
				continue
			}
			relative(t, c.ID, "PCC-2 energy", got["energy_j"], want.E, 1e-9)
			relative(t, c.ID, "PCC-2 TNT", got["tnt_kg"], want.TNT, 1e-9)
			relative(t, c.ID, "PCC-2 distance", got["distance_m"], want.R, 1e-9)
			relative(t, c.ID, "PCC-2 required", got["required_m"], want.Need, 1e-9)
			if want.Floor != nil {
				relative(t, c.ID, "PCC-2 floor", got["floor_m"], *want.Floor, 0)
			}
		} else if out["pcc2"] != nil {
			t.Errorf("%s: pcc2 for a gas it is not meant for", c.ID)
		}
	}
	for _, c := range file.Liquid {
		out := call(
			t, "energy",
			map[string]any{
				"volume_m3": c.Inputs.V, "pressure_pa": c.Inputs.P + 101325,
				"liquid": map[string]any{"bulk_modulus_pa": c.Inputs.B},
			},
		)
		relative(t, c.ID, "liquid", out["liquid_j"], c.Expected.E, 1e-9)
	}
	for _, c := range file.Fill {
		out := call(
			t, "fill",
			map[string]any{
				"from_pa": c.Inputs.P1, "to_pa": c.Inputs.P2, "temperature_k": c.Inputs.T0,
				"ratio_of_heats": c.Inputs.K,
			},
		)
		relative(t, c.ID, "T2", out["temperature_k"], c.Expected.T2, 1e-9)
		relative(t, c.ID, "after cooling", out["after_cooling_pa"], c.Expected.Cool, 1e-9)
	}
}

func TestVacuumImplosion(t *testing.T) {
	// 101.3 J for each litre of vacuum: p_atm·V.
	out := call(t, "energy", map[string]any{"volume_m3": 1e-3, "pressure_pa": 1e-6})
	relative(t, "1 L", "implosion", out["implosion_j"], 101.325, 1e-9)
}
