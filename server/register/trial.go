package register

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// instrument returns the row's instrument, as the calculation item makes it from its fields, with
// its kind.
func (row *Row) instrument() (kind string, doc map[string]any, err error) {
	fields := map[string]any{}
	for _, name := range tried {
		if row.here == nil {
			break
		}
		if b, ok := row.here.Value(name); ok {
			fields[name] = json.RawMessage(b)
		}
	}
	for _, s := range row.set {
		if !slices.Contains(tried, s.Field) {
			continue
		}
		fields[s.Field] = s.Value
	}
	kind = row.kind()
	b, err := json.Marshal(map[string]any{"fields": fields})
	if err != nil {
		return "", nil, fmt.Errorf("line %d: %w", row.Line, err)
	}
	var reply struct{ Instrument map[string]any }
	if err := json.Unmarshal(calc.Call("item", b), &reply); err != nil {
		return "", nil, fmt.Errorf("line %d: %w", row.Line, err)
	}
	return kind, reply.Instrument, nil
}

// kind returns the row's kind of instrument, "" if it names none.
func (row *Row) kind() string {
	for _, s := range row.set {
		if s.Field == "kind" {
			kind, _ := s.Value.(string)
			return kind
		}
	}
	if row.here != nil {
		return textOf(row.here, "kind")
	}
	return ""
}

// tried are the fields of an instrument that a trial depends on.
var tried = []string{
	"kind", "range", "resolution", "limit", "output", "repeatability_percent", "medium", "cautions",
	"temperature_coefficient_percent_per_k", "reference_temperature_c", "overload", "particulars",
}

// tries reports whether a row changes what a trial depends on.
func (row *Row) tries() bool {
	return slices.ContainsFunc(row.Changes, func(d Difference) bool { return slices.Contains(tried, d.Field) })
}

// trials are their results by input, since a register has many instruments of a kind.
type trials map[string]*refusal

// refusal is a refusal of the calculation.
type refusal struct{ Field, Message string }

// ask tries in the calculation whether a method fits an instrument: it lays the method out and, for
// a gauge, judges by its limit.
func (row *Row) ask(
	kind string, method json.RawMessage, instrument map[string]any, known trials,
) (refused *refusal, err error) {
	key, err := json.Marshal([]any{kind, method, instrument})
	if err != nil {
		return nil, fmt.Errorf("line %d: %w", row.Line, err)
	}
	if was, ok := known[string(key)]; ok {
		return was, nil
	}
	defer func() {
		if err == nil {
			known[string(key)] = refused
		}
	}()
	doc := map[string]any{"method": method, "instrument": instrument}
	rooms := []string{"expand"}
	if kind == "gauge" {
		rooms = append(rooms, "evaluate")
	}
	for _, room := range rooms {
		if room == "evaluate" {
			doc["captures"], doc["complete"] = []any{}, false
		}
		b, err := json.Marshal(doc)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", row.Line, err)
		}
		var reply struct{ Error *refusal }
		if err := json.Unmarshal(calc.Call(room, b), &reply); err != nil {
			return nil, fmt.Errorf("line %d: %w", row.Line, err)
		}
		if reply.Error != nil {
			return reply.Error, nil
		}
	}
	return nil, nil
}

// usable reports whether a method is published and of the row's kind, or a programme, which fits
// any kind.
func (row *Row) usable(m plant.Method) bool {
	return len(m.Definition) > 0 && (m.Kind == row.kind() || m.Kind == "programme")
}

// chosen returns the method with a name or, of several, the only one that fits the row; if that
// leaves more or none, the row reports all of them.
func (row *Row) chosen(here []merge.State) (*plant.Method, error) {
	var methods, usable []plant.Method
	var listed []string
	for _, s := range here {
		m, err := plant.ReadMethod(s)
		if err != nil {
			return nil, err
		}
		methods = append(methods, m)
		state := fmt.Sprintf("version %d", m.Version)
		if len(m.Definition) == 0 {
			state = "not published"
		}
		listed = append(listed, fmt.Sprintf("%s of the kind %s, %s", m.ID, m.Kind, state))
		if row.usable(m) {
			usable = append(usable, m)
		}
	}
	switch {
	case len(methods) == 1:
		return &methods[0], nil
	case len(usable) == 1:
		return &usable[0], nil
	}
	row.wrong(
		"method", "%d methods have the name %q, of which %d can be used for the kind %s: %s", len(methods),
		row.methodName, len(usable), row.kind(), strings.Join(listed, "; "),
	)
	return nil, nil
}

// fits lays the row's method out for its instrument; what the calculation refuses is a fault of the
// row.
func (row *Row) fits(method plant.Method, known trials) error {
	kind, instrument, err := row.instrument()
	if err != nil {
		return err
	}
	if len(method.Definition) == 0 {
		row.wrong("method", "the method %q says nothing yet", row.methodName)
		return nil
	}
	if method.Kind != kind && method.Kind != "programme" {
		row.wrong(
			"method", "the method %q is for the kind %s, this row is of the kind %s", row.methodName, method.Kind, kind,
		)
		return nil
	}
	refused, err := row.ask(method.Kind, method.Definition, instrument, known)
	if err != nil || refused == nil {
		return err
	}
	field, inner := row.cell(refused.Field)
	row.wrong(field, "the method %q cannot be used for it: %s: %s", row.methodName, inner, refused.Message)
	return nil
}

// plain are methods for trying an instrument that has none yet; a refusal of the method itself does
// not count against the row.
var plain = map[string]string{
	"gauge": `{"kind":"gauge","points":{"count":3}}`, "switch": `{"kind":"switch"}`, "burst": `{"kind":"burst","rate":"1"}`,
	"altimeter": `{"kind":"altimeter","pitot":"none"}`, "airspeed": `{"kind":"airspeed","table":"20-250"}`,
	"vertical-speed":     `{"kind":"vertical-speed","pitot":"none","points":[{"ft_min":"1000","at_ft":"2000","tolerance_ft_min":"100"}]}`,
	"reporting-altitude": `{"kind":"reporting-altitude","points_ft":[0]}`, "pitot-static-leak": `{"kind":"pitot-static-leak","static":{"start_ft":"1000"}}`,
}

// likely tries an instrument without a method with a plain one of its kind.
func (row *Row) likely(known trials) error {
	if len(row.Problems) > 0 || row.here != nil && !row.tries() {
		return nil
	}
	kind, instrument, err := row.instrument()
	if err != nil {
		return err
	}
	method := plain[kind]
	if kind == "leak" && instrument["high"] == nil {
		return nil
	}
	if kind == "leak" {
		method = fmt.Sprintf(
			`{"kind":"leak","phases":[{"pressure":%q,"measure_s":60,"every_s":5}]}`, instrument["high"],
		)
	}
	refused, err := row.ask(kind, json.RawMessage(method), instrument, known)
	switch {
	case err != nil:
		return err
	case refused == nil, !strings.HasPrefix(refused.Field, "instrument."):
	case instrument["particulars"] == nil && strings.HasPrefix(refused.Field, "instrument.particulars"): // reported later, at the office
	default:
		field, inner := row.cell(refused.Field)
		row.wrong(field, "%s: %s", inner, refused.Message)
	}
	return nil
}

var (
	contactForm = regexp.MustCompile(`^contacts\[(\d)\](?:\.([a-z_]+))?`)
	cellOf      = map[string]string{"nominal": "set_point", "acts": "acts", "tolerance": "set_tolerance", "tolerance_percent": "set_tolerance", "dead_band": "dead_band", "safe": "safe_side",
		"name": "contact", "safety_function": "safety_function", "volume_m3": "volume", "coincident_temperature_c": "coincident_temperature"}
)

// cell returns the register's field for a path of the calculation, and the path as it is shown.
func (row *Row) cell(path string) (field, inner string) {
	inner, own := strings.CutPrefix(path, "instrument.")
	if !own {
		return "method", path
	}
	part, particular := strings.CutPrefix(inner, "particulars.")
	if m := contactForm.FindStringSubmatch(part); particular && m != nil {
		name := cellOf[m[2]]
		if name == "" {
			name = "set_point"
		}
		if m[1] == "1" && row.text["set_point"] != "" {
			name += "_2"
		}
		return name, inner
	}
	head, _, _ := strings.Cut(part, ".")
	switch {
	case particular && cellOf[head] != "":
		return cellOf[head], inner
	case head == "contacts":
		return "set_point", inner
	case head == "low" || head == "high":
		return row.endField(head), inner
	case head == "unit":
		return row.unitField(), inner
	case head == "limit":
		return row.limitField("class"), inner
	case known(head):
		return head, inner
	case particular || head == "particulars":
		return "kind", inner
	}
	return "method", inner
}
