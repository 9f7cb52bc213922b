package register

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/calc/visit"
)

// kindWords are the kinds of instrument with the words for them in registers, compared like
// headings.
var kindWords = map[string][]string{
	"gauge": {
		"pressure gauge", "gauge", "manometer", "transmitter", "pressure transmitter", "pi", "pt",
		"druckmessumformer", "messumformer", "manomètre", "transmetteur", "manómetro",
	},
	"leak": {"system", "closed system", "leak test", "leak", "dichtheitsprüfung", "système", "sistema"}, "switch": {
		"pressure switch", "switch", "ps", "druckschalter", "druckwächter", "pressostat", "presostato",
	},
	"burst": {
		"rupture disc", "rupture disk", "bursting disc", "burst disc", "berstscheibe", "disque de rupture",
		"disco de ruptura",
	},
	"altimeter": {"altimeter", "höhenmesser", "altimètre", "altímetro"}, "airspeed": {
		"airspeed indicator", "airspeed", "asi", "fahrtmesser", "anémomètre", "anemómetro",
	},
	"vertical-speed":     {"vertical speed indicator", "vertical speed", "vsi", "variometer", "variomètre", "variómetro"},
	"reporting-altitude": {"altitude encoder", "encoder", "reporting altitude"}, "pitot-static-leak": {
		"pitot static system", "pitot static leak", "pitot-static",
	},
}

// airUnits are the units of pitot-static instruments with the words for them, and the units of each
// kind.
var (
	airUnits = map[string]string{
		"ft": "ft", "feet": "ft", "m": "m", "kt": "kt", "kts": "kt", "knots": "kt", "kn": "kt",
		"km/h": "km/h", "ft/min": "ft/min", "fpm": "ft/min", "m/s": "m/s",
	}
	airUnitsOf = map[string][]string{
		"altimeter": {"ft", "m"}, "airspeed": {"kt", "km/h", "m/s"}, "vertical-speed": {"ft/min", "m/s"},
		"reporting-altitude": {"ft", "m"}, "pitot-static-leak": {"ft", "m"},
	}
)

// readKind reads the kind of the row's instrument; the default is a gauge.
func (row *Row) readKind() string {
	said := row.text["kind"]
	if said == "" {
		return "gauge"
	}
	for kind, words := range kindWords {
		if letters(said) == letters(kind) ||
			slices.ContainsFunc(words, func(w string) bool { return letters(said) == letters(w) }) {
			return kind
		}
	}
	row.wrong("kind", "%q is no kind of instrument that is known here; there are %s", said, strings.Join(kinds(), ", "))
	return "gauge"
}

func kinds() (list []string) {
	for kind := range kindWords {
		list = append(list, kind)
	}
	slices.Sort(list)
	return list
}

var outputForm = regexp.MustCompile(`(?i)^(-?[\d.,]+)\s*(?:-|–|…|\.\.\.?|to|bis|à|a)\s*(-?[\d.,]+)\s*(mA|V)\s*(.*)$`)

// readOutput reads a transmitter's signal: 4-20 mA, or 0-10 V square root.
func (row *Row) readOutput(mark byte) {
	said := row.text["output"]
	if said == "" {
		return
	}
	m := outputForm.FindStringSubmatch(said)
	if m == nil {
		row.wrong("output", "the output %q is not a signal such as 4-20 mA or 0-10 V square root", said)
		return
	}
	low, err := number(m[1], mark)
	high, err2 := number(m[2], mark)
	if err != nil || err2 != nil {
		row.wrong("output", "the output %q has no two numbers", said)
		return
	}
	if lo, hi := exact(low), exact(high); lo.Cmp(hi) >= 0 {
		row.wrong("output", "the output's upper end %s is not above %s", high, low)
		return
	}
	out := map[string]any{
		"low": low, "high": high, "unit": map[string]string{"ma": "mA", "v": "V"}[strings.ToLower(m[3])],
	}
	switch letters(m[4]) {
	case "", "lin", "linear":
	case "sqrt", "squareroot", "root", "radizierend", "racine":
		out["law"] = "square-root"
	default:
		row.wrong("output", "the output's law %q is neither linear nor square root", m[4])
	}
	row.put("output", out)
}

func exact(text string) numeric.Exact {
	x, _ := numeric.ParseExact(text)
	return x
}

// volumes are the units of volume in cubic metres; the gallon is that of 231 cubic inches.
var (
	volumes = map[string]string{"l": "0.001", "litre": "0.001", "litres": "0.001", "liter": "0.001", "m3": "1", "m³": "1", "cm3": "0.000001", "cm³": "0.000001", "ml": "0.000001", "dm3": "0.001", "dm³": "0.001", "ltr": "0.001", "gallon": "0.003785411784", "gallons": "0.003785411784",
		"gal": "0.003785411784", "ft3": "0.028316846592", "ft³": "0.028316846592"}
	volumeForm = regexp.MustCompile(`^([\d.,' ]+?)\s*([^\d\s.,].*)$`)
)

func (row *Row) volume(mark byte) (string, bool) {
	said := row.text["volume"]
	if said == "" {
		return "", false
	}
	m := volumeForm.FindStringSubmatch(said)
	if m == nil {
		row.wrong("volume", "the volume %q has no unit; such as 12.5 L", said)
		return "", false
	}
	factor, ok := volumes[strings.ToLower(strings.TrimSpace(m[2]))]
	n, err := number(m[1], mark)
	switch {
	case !ok:
		row.wrong("volume", "the volume's unit %q is not one of L m3 cm3 mL gal ft3", m[2])
	case err != nil:
		row.wrong("volume", "%v", err)
	case exact(n).Sign() <= 0:
		row.wrong("volume", "the volume %q is not above zero", said)
	default:
		text, _ := exact(n).Mul(exact(factor)).Text(15)
		return text, true
	}
	return "", false
}

// figure adds a cell's number to a document under a name.
func (row *Row) figure(to map[string]any, name, field string, mark byte) bool {
	v := strings.TrimSpace(strings.TrimSuffix(strings.TrimLeft(row.text[field], "±+/ "), "%"))
	if v == "" {
		return false
	}
	n, err := number(v, mark)
	if err != nil {
		row.wrong(field, "%v", err)
		return false
	}
	to[name] = n
	return true
}

// contact reads one contact of a switch; ending is the ending of its columns' names.
func (row *Row) contact(ending string, mark byte) (map[string]any, bool) {
	c := map[string]any{}
	named := func(name string) string { return name + ending }
	if row.text[named("set_point")] == "" {
		for _, name := range []string{"acts", "set_tolerance", "dead_band", "safe_side", "contact"} {
			if row.text[named(name)] != "" {
				row.wrong(named(name), "there is something here and no set point (%s)", row.column(named("set_point")))
				break
			}
		}
		return nil, false
	}
	row.figure(c, "nominal", named("set_point"), mark)
	if v := row.text[named("contact")]; v != "" {
		c["name"] = v
	}
	switch letters(row.text[named("acts")]) {
	case "rising", "rises", "up", "high", "steigend", "croissant":
		c["acts"] = "rising"
	case "falling", "falls", "down", "low", "fallend", "décroissant":
		c["acts"] = "falling"
	default:
		row.wrong(named("acts"), "%q is neither rising nor falling", row.text[named("acts")])
	}
	tolerance := "tolerance"
	if strings.HasSuffix(strings.TrimSpace(row.text[named("set_tolerance")]), "%") {
		tolerance = "tolerance_percent"
	}
	row.figure(c, tolerance, named("set_tolerance"), mark)
	if v := row.text[named("dead_band")]; v != "" {
		low, high, unit, err := cutRange(v)
		lo, err1 := number(low, mark)
		hi, err2 := number(high, mark)
		if err != nil || unit != "" || err1 != nil || err2 != nil {
			row.wrong(named("dead_band"), "%q is not two numbers in the range's unit, such as 0.1-0.5", v)
		} else {
			c["dead_band"] = map[string]any{"low": lo, "high": hi}
		}
	}
	switch v := letters(row.text[named("safe_side")]); v {
	case "":
	case "open", "offen", "ouvert":
		c["safe"] = "open"
	case "closed", "geschlossen", "fermé":
		c["safe"] = "closed"
	default:
		row.wrong(named("safe_side"), "%q is neither open nor closed", row.text[named("safe_side")])
	}
	if slices.Contains(yes, strings.ToLower(row.text[named("safety_function")])) {
		c["safety_function"] = true
	}
	return c, true
}

// mine are the columns for instruments of certain kinds only.
var mine = []struct {
	kinds  []string
	fields []string
}{
	{[]string{"gauge"}, []string{"output"}},
	{[]string{"gauge", "switch"}, []string{"overload"}},
	{[]string{"leak", "burst"}, []string{"volume"}},
	{[]string{"leak"}, []string{"weakest", "weakest_part"}},
	{[]string{"switch"}, []string{"contact", "set_point", "acts", "set_tolerance", "dead_band", "safe_side", "safety_function", "contact_2", "set_point_2", "acts_2", "set_tolerance_2", "dead_band_2",
		"safe_side_2", "safety_function_2"}},
	{[]string{"burst"}, []string{"marked", "requested", "lot", "lot_size", "material", "coincident_temperature"}},
}

// readParts reads the particulars of an instrument that is not a gauge. It reports a cell that
// belongs to another kind, since it would be lost.
func (row *Row) readParts(kind string, mark byte) {
	for _, m := range mine {
		for _, f := range m.fields {
			if row.text[f] != "" && !slices.Contains(m.kinds, kind) {
				row.wrong(
					f, "this belongs to the kind %s, the row is of the kind %s", strings.Join(m.kinds, " or "), kind,
				)
			}
		}
	}
	parts := map[string]any{}
	if v, ok := row.volume(mark); ok {
		parts["volume_m3"] = v
	}
	switch kind {
	case "gauge":
		row.readOutput(mark)
	case "leak":
		weakest := map[string]any{}
		if row.figure(weakest, "high", "weakest", mark) {
			if v := row.text["weakest_part"]; v != "" {
				weakest["part"] = v
			}
			parts["weakest"] = weakest
		} else if row.text["weakest_part"] != "" && row.text["weakest"] == "" {
			row.wrong("weakest_part", "there is a part here and no pressure for it (%s)", row.column("weakest"))
		}
	case "switch":
		var contacts []map[string]any
		for _, ending := range []string{"", "_2"} {
			if c, ok := row.contact(ending, mark); ok {
				contacts = append(contacts, c)
			}
		}
		if len(contacts) > 0 {
			parts["contacts"] = contacts
		}
	case "burst":
		for _, f := range []string{"marked", "requested"} {
			row.figure(parts, f, f, mark)
		}
		row.figure(parts, "coincident_temperature_c", "coincident_temperature", mark)
		for _, f := range []string{"lot", "material"} {
			if v := row.text[f]; v != "" {
				parts[f] = v
			}
		}
		if v := row.text["lot_size"]; v != "" {
			n, err := strconv.Atoi(v)
			if err != nil || n < 1 || n > 1_000_000 {
				row.wrong("lot_size", "the lot size %q is not a number of discs", v)
			} else {
				parts["lot_size"] = n
			}
		}
	}
	if len(parts) > 0 {
		row.put("particulars", parts)
	}
}

// airRange reads the range of a pitot-static instrument, whose units are not pressures.
func (row *Row) airRange(kind, low, high, unit string, mark byte) {
	name, ok := airUnits[strings.ToLower(strings.TrimSpace(unit))]
	if !ok || !slices.Contains(airUnitsOf[kind], name) {
		row.wrong(
			row.unitField(), "%q is not a unit of an instrument of the kind %s; there are %s", unit, kind,
			strings.Join(airUnitsOf[kind], " "),
		)
		return
	}
	lo, hi, ok := row.ends(low, high, mark)
	if !ok {
		return
	}
	if exact(lo).Cmp(exact(hi)) >= 0 {
		row.wrong(row.endField("high"), "the range's upper end %s is not above %s", hi, lo)
		return
	}
	row.put("range", map[string]string{"low": lo, "high": hi, "unit": name, "mode": visit.RangeMode(kind)})
}
