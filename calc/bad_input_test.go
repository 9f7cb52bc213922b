package calc_test

import (
	"strings"
	"testing"
)

// TestBadInputIsNamed checks that bad input never becomes a silent default: it is refused by its
// field, or reported in a warning on it.
func TestBadInputIsNamed(t *testing.T) {
	certificate := func(points ...doc) doc {
		return doc{"ranges": []doc{{"low": 0, "high": 16, "absolute": "0.01"}}, "certificate": doc{"points": points}}
	}
	at := func(applied, expanded string) doc { return doc{"applied": applied, "error": "0", "expanded": expanded} }
	guarded := doc{"rule": "guarded"}
	terms := []doc{{"name": "a", "u": 1}, {"name": "b", "u": 1}, {"name": "c", "u": 1}}
	ties := []doc{{"a": "a", "b": "b", "r": 0.9}, {"a": "b", "b": "c", "r": 0.9}, {"a": "a", "b": "c", "r": -0.9}}
	sheet := func(more doc) doc {
		s := sheetIn(t, "bar", "0", "5", "10", "0", "5.02", "10.01")
		for k, v := range more {
			s[k] = v
		}
		return s
	}
	instrument := func(more doc) doc {
		i := doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "limit": doc{"rule": "en837", "class": "1"}}
		for k, v := range more {
			i[k] = v
		}
		return i
	}
	leak := doc{
		"method": doc{
			"kind":   "leak",
			"phases": []doc{{"name": "p", "pressure": "5", "measure_s": 60, "every_s": 10, "limit_pa_s": 1}},
		},
		"instrument": doc{"low": "0", "high": "10", "unit": "bar", "particulars": doc{"volume_m3": "0.01"}},
	}
	for name, tt := range map[string]struct {
		calculation       string
		in                doc
		code, field, says string // of the error, or of the warning
	}{
		"extrapolation, gauge": {"gauge", gaugeDoc(
			doc{"standard": certificate(at("0", "0.001"), at("8", "0.001"))}, reading(1, "up", "0", "0"),
			reading(1, "up", "10", "10"),
		),
			"range", "standard.certificate.points", "extrapolated"},
		"extrapolation, sheet": {
			"evaluate", sheet(doc{"standard": certificate(at("0", "0.001"), at("8", "0.001"))}),
			"standard", "standard.certificate.points", "extrapolated",
		},
		"outside the ranges": {
			"evaluate",
			sheet(doc{"standard": doc{"ranges": []doc{{"low": 0, "high": 6, "absolute": "0.01"}}}}),
			"standard", "standard.ranges", "no range",
		},
		"uncertainty of zero, certificate": {"gauge", gaugeDoc(
			doc{"standard": certificate(at("0", "0.001"), at("16", "0"))}, reading(1, "up", "0", "0"),
		),
			"range", "standard.certificate.points[1].expanded", "above zero"},
		"uncertainty of zero, standard": {
			"gauge", gaugeDoc(doc{"standard": doc{"u": 0}}, reading(1, "up", "0", "0")), "no_uncertainty",
			"standard.u", "zero",
		},
		"uncertainty of zero, specification": {
			"gauge",
			gaugeDoc(doc{"standard": doc{"ranges": []doc{{"low": 0, "high": 16}}}}, reading(1, "up", "0", "0")),
			"missing", "standard.ranges[0].absolute", "specification",
		},
		"uncertainty of zero, rule": {
			"conformity", doc{"value": "1", "high": "2", "u": 0, "rule": "guarded"}, "range", "u", "zero",
		},
		"uncertainty of zero, term": {
			"budget",
			doc{"terms": []doc{{"name": "a", "u": 1}, {"name": "b", "half_width": 0, "shape": "rectangular"}}},
			"no_uncertainty", "terms[1]", "zero",
		},
		"guard band wider than the limit": {"gauge", gaugeDoc(
			doc{"standard": doc{"u": "0.06"}, "decision": guarded}, reading(1, "up", "0", "0"),
			reading(1, "up", "10", "10"),
		),
			"guard_band", "decision", "acceptance"},
		"guard band wider, sheet": {
			"evaluate", sheet(doc{"standard": doc{"u": "0.06"}}), "guard_band", "decision", "acceptance",
		},
		"correlation not possible": {
			"budget", doc{"terms": terms, "correlations": ties}, "range", "correlations",
			"negative direction",
		},
		"missing point, gauge": {
			"gauge",
			gaugeDoc(nil, reading(1, "up", "0", "0"), reading(1, "up", "10", "10"), reading(1, "down", "10", "10")),
			"missing_point", "readings", "falling series of cycle 1 has no reading at 0",
		},
		"a length for a pressure": {
			"evaluate",
			sheet(doc{"captures": []doc{{"step": "s1.up.0", "of": "indicated", "value": "0", "unit": "m"}}}),
			"unit", "captures[0].unit", "",
		},
		"no unit at all": {
			"evaluate",
			sheet(doc{"captures": []doc{{"step": "s1.up.0", "of": "indicated", "value": "0"}}}), "missing",
			"captures[0].unit", "",
		},
		"another unit": {
			"evaluate",
			sheet(doc{"captures": []doc{{"step": "s1.up.0", "of": "indicated", "value": "0", "unit": "kPa"}}}),
			"converted", "captures[0].unit", "judged in bar",
		},
		"volts for milliamperes": {
			"evaluate",
			sheet(
				doc{
					"instrument": instrument(
						doc{
							"output": doc{"low": 4, "high": 20, "unit": "mA"},
							"limit":  doc{"rule": "terms", "of_span_percent": 1},
						},
					),
					"captures": []doc{{"step": "s1.up.0", "of": "indicated", "value": "4", "unit": "V"}},
				},
			),
			"unit", "captures[0].unit", "mA",
		},
		"absolute column in gauge mode": {
			"gauge",
			gaugeDoc(
				doc{
					"mode": "gauge",
					"head": doc{
						"mode": "absolute", "standard_above_m": "1", "gravity_m_s2": "9.81",
						"fluid_density_kg_m3": "998",
					},
				},
				reading(1, "up", "0", "0"),
			),
			"conflict", "head.mode", "",
		},
		"gauge or absolute unsaid, leak": {"expand", leak, "missing", "instrument.mode", "gauge or absolute"},
		"gauge or absolute is some third": {
			"evaluate", sheet(doc{"instrument": instrument(doc{"mode": "vacuum"})}), "range",
			"instrument.mode", "",
		},
	} {
		out := call(t, tt.calculation, tt.in)
		named := false
		if e, ok := out["error"].(map[string]any); ok {
			named = e["code"] == tt.code && e["field"] == tt.field && strings.Contains(e["message"].(string), tt.says)
		}
		list, _ := out["warnings"].([]any)
		for _, w := range list {
			w := w.(map[string]any)
			named = named || w["code"] == tt.code && w["field"] == tt.field && strings.Contains(w["message"].(string), tt.says)
		}
		if !named {
			t.Errorf(
				"%s: want %s at %s (%q), got error %v, warnings %v", name, tt.code, tt.field, tt.says, out["error"],
				list,
			)
		}
	}
	// a run that lacks a reading names the step
	out := call(
		t, "evaluate",
		sheet(doc{"captures": []doc{{"step": "s1.up.0", "of": "indicated", "value": "0", "unit": "bar"}}}),
	)
	if missing, _ := out["missing"].([]any); len(missing) != 2 || missing[0] != "s1.up.1" ||
		out["verdict"] != "undecided" {
		t.Errorf("missing points: %v, verdict %v", out["missing"], out["verdict"])
	}
}
