package plant_test

import (
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/plant"
)

//go:generate go test -run TestFields$ -args -write

var writeFields = flag.Bool("write", false, "write the client's readers of fields")

// fieldsFile has the client's readers for fields of records.
const fieldsFile = "../../webapp/src/wire/records.gen.ts"

// What a field holds beyond what the office reads.
type (
	point struct {
		Applied, Error, Expanded, K plant.Decimal
	}
	piece struct {
		plant.Range
		DriftPerYear plant.Decimal `json:"drift_per_year"`
		YearsSince   plant.Decimal `json:"years_since"`
		Resolution   plant.Decimal `json:"resolution"`
		MaxRate      plant.Decimal `json:"max_rate"`
		Points       []point       `json:"points"`
	}
	certificate struct {
		Number, Calibrated, Due, By string
		Accreditation, File         string
		Range                       plant.Range
		Points                      []point
	}
	used struct {
		ID       string
		Range    piece
		Snapshot struct {
			Name, Serial, Manufacturer, Model string
			CertificateNo                     string `json:"certificate_no"`
			Calibrated, Due                   string
			Range                             piece
		}
		Reason string
	}
	definition struct {
		Kind, Unit, Mode, Text string
		Tap                    bool
		MaxRateKtMin           plant.Decimal `json:"max_rate_kt_min"`
		Steps, Rules           json.RawMessage
	}
	method struct {
		ID, Name, Reason string
		Definition       definition
	}
	draft struct {
		Name, At, Why string
		From          float64
		Cautions      []string
		Definition    json.RawMessage
	}
	planStep struct {
		ID, Do                string
		Screen                float64
		Direction, Target     plant.Decimal
		Unit                  string
		Seconds, Count        float64
		Of, Text, As          string
		Rate, Until, Within   plant.Decimal
		AtMostS               float64 `json:"at_most_s"`
		EveryS                float64 `json:"every_s"`
		Many, Trace, Optional bool
		Safety                bool
		MakeSafe              string `json:"make_safe"`
		Over, Unjudged        bool
	}
	plan struct {
		Steps       []planStep
		AsFoundOnce bool    `json:"as_found_once"`
		DurationS   float64 `json:"duration_s"`
		Screens     float64
	}
	pass struct {
		Verdict       string
		WorstFraction float64 `json:"worst_fraction"`
		Results       json.RawMessage
	}
	finding struct {
		Verdict, Reason string
		Complete        bool
		DueMonths       plant.Decimal `json:"due_months"`
		Points          []json.RawMessage
	}
	limb struct {
		StandardAboveM plant.Decimal `json:"standard_above_m"`
		Fluid          string
		DensityKgM3    plant.Decimal `json:"density_kg_m3"`
		GravityMS2     plant.Decimal `json:"gravity_m_s2"`
		LatitudeDeg    plant.Decimal `json:"latitude_deg"`
	}
	weakest struct {
		Pressure, High plant.Decimal
		Part           string
		ImpactPa       plant.Decimal `json:"impact_pa"`
	}
	contact struct {
		Name, Acts, Safe string
		Nominal          plant.Decimal
		Tolerance        plant.Decimal
		TolerancePercent plant.Decimal `json:"tolerance_percent"`
		SafetyFunction   bool          `json:"safety_function"`
		DeadBand         struct {
			Low, High plant.Decimal
		} `json:"dead_band"`
	}
	particulars struct {
		Contacts      []contact
		Weakest       weakest
		Relief        plant.Decimal
		VolumeM3      plant.Decimal `json:"volume_m3"`
		AddedVolumeM3 plant.Decimal `json:"added_volume_m3"`
		MaxRateKtMin  plant.Decimal `json:"max_rate_kt_min"`
		HighestFt     plant.Decimal `json:"highest_ft"`
		LowestFt      plant.Decimal `json:"lowest_ft"`
		MaxCasKt      plant.Decimal `json:"max_cas_kt"`
		RangePercent  struct {
			Low, High plant.Decimal
		} `json:"range_percent"`
		MarkedPressure plant.Decimal `json:"marked_pressure"`
	}
	moment struct{ At string }
	// sequence is what a method of kind gauge specifies: where it goes, how often, how it decides.
	sequence struct {
		Points struct {
			Count            plant.Decimal
			Values, Percents *[]plant.Decimal
		}
		Directions string
		Cycles     plant.Decimal
		Series     []struct {
			Direction string
			Remount   bool
			Exercise  plant.Decimal
			Percents  []plant.Decimal
		}
		Exercise      plant.Decimal
		ExerciseHoldS plant.Decimal `json:"exercise_hold_s"`
		RestS         plant.Decimal `json:"rest_s"`
		HoldS         plant.Decimal `json:"hold_s"`
		HoldTopS      plant.Decimal `json:"hold_top_s"`
		Tap           bool
		Way           string
		Decision      struct {
			Rule           string
			GuardFactor    plant.Decimal `json:"guard_factor"`
			MinProbability plant.Decimal `json:"min_probability"`
			Coverage       plant.Decimal
			NeededRatio    plant.Decimal `json:"needed_ratio"`
		}
	}
	// rule is one limit of a programme's values, or one condition.
	rule struct {
		Name, Low, High, Unit, When, Text string
	}
)

// fields lists the types of all fields that hold more than a text, by kind of record. A field with
// an id after its name, such as capture.ID, has one row. The kind value has the types inside
// others.
var fields = []struct {
	kind, name string
	holds      any
}{
	{"instrument", "range", plant.Range{}},
	{"instrument", "particulars", particulars{}},
	{"instrument", "order", plant.Ordered{}},
	{"standard", "ranges", []piece{}},
	{"standard", "certificate", certificate{}},
	{"method", "definition", definition{}},
	{"method", "draft", draft{}},
	{"method", "approval", plant.MethodApproval{}},
	{"method", "sent_back", plant.DraftRemark{}},
	{"round", "stops", []plant.Stop{}},
	{"round", "taken_back", struct{ Reason string }{}},
	{"visit", "method", method{}},
	{"visit", "item", struct {
		plant.Item
		Particulars particulars `json:"particulars"`
	}{}},
	{"visit", "standard", used{}},
	{"visit", "meter", used{}},
	{"visit", "barometer", used{}},
	{"visit", "cautions", struct {
		Met    bool
		Permit string
		Open   json.RawMessage
	}{}},
	{"visit", "identity", plant.Answer{}},
	{"visit", "condition", plant.Answer{}},
	{"visit", "not_tested", plant.NotTested{}},
	{"visit", "bypasses", struct{ None bool }{}},
	{"visit", "bypass", plant.Bypass{}},
	{"visit", "disposition", plant.Disposition{}},
	{"visit", "since", struct{ Visit, At, Note string }{}},
	{"visit", "manifold", struct {
		Visits []string
		High   plant.Decimal
		Unit   string
	}{}},
	{"visit", "order", plant.Order{}},
	{"visit", "surroundings", plant.Surroundings{}},
	{"visit", "head", limb{}},
	{"visit", "adjusted", struct {
		Done bool
		Note string
	}{}},
	{"visit", "remark", struct{ Text string }{}},
	{"visit", "photo", struct{ Sha256, Type, Caption string }{}},
	{"visit", "signature", struct {
		Name, At string
		Strokes  json.RawMessage
	}{}},
	{"visit", "summary", struct {
		AsFound *pass               `json:"as_found"`
		AsLeft  *pass               `json:"as_left"`
		After   *plant.AfterSummary `json:"after"`
	}{}},
	{"visit", "approval", struct{ Certificate string }{}},
	{"visit", "check", plant.Answer{}},
	{"result", "adjusted", struct{ Done bool }{}},
	{"result", "summary", struct {
		AsFound *pass `json:"as_found"`
		AsLeft  *pass `json:"as_left"`
	}{}},
	{"result", "certificate", struct{ Number, By, File string }{}},
	{"result", "brought", struct{ Sheet, Name, Line, At string }{}},
	{"run", "plan", plan{}},
	{"run", "capture", struct {
		Step, Of                     string
		Value                        plant.Decimal
		Unit, At, Supersedes, Reason string
		Typed                        string
		Reading                      json.RawMessage
		File                         file
	}{}},
	{"run", "done", moment{}},
	{"run", "closed", struct{ At, Stopped string }{}},
	{"run", "finding", finding{}},
	{"value", "range", piece{}},
	{"value", "limit", plant.Limit{}},
	{"value", "point", point{}},
	{"value", "file", file{}},
	{"value", "definition", definition{}},
	{"value", "particulars", particulars{}},
	{"value", "sequence", sequence{}},
	{"value", "rules", []rule{}},
}

type file struct {
	Name, Packed string
	Rows         plant.Decimal
}

// TestFields checks the client's readers of fields against the table, and the table against
// RECORDS.md. go generate writes the readers.
func TestFields(t *testing.T) {
	records, err := os.ReadFile("RECORDS.md")
	if err != nil {
		t.Fatal(err)
	}
	var kinds strings.Builder
	names := shapeNames{}
	kind := ""
	for _, f := range fields {
		if f.kind != kind {
			if kind != "" {
				kinds.WriteString("  },\n")
			}
			kind = f.kind
			kinds.WriteString("  " + kind + ": {\n")
		}
		kinds.WriteString("    " + f.name + ": " + names.shapeOf(reflect.TypeOf(f.holds), "    ") + ",\n")
		section := regexp.MustCompile("(?s)\n## " + kind + "\n.*?(\n## |$)").FindString(string(records))
		if kind != "value" && !regexp.MustCompile("`"+f.name+"[`.]").MatchString(section) {
			t.Errorf("RECORDS.md does not name %s of %s", f.name, kind)
		}
	}
	var b strings.Builder
	b.WriteString("// Written by go generate ./server/plant from the table in fields_test.go; do not edit.\n\n")
	for _, n := range names.inOrder {
		b.WriteString("const " + n[0] + " = " + n[1] + " as const;\n\n")
	}
	b.WriteString("/** What the fields of each kind of record hold that hold more than a text. */\nexport const shapes = {\n" +
		kinds.String() + "  },\n} as const;\n")
	if *writeFields {
		if err := os.WriteFile(fieldsFile, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	was, err := os.ReadFile(fieldsFile)
	if err != nil || string(was) != b.String() {
		t.Errorf("%s is not what the table says: go generate ./server/plant: %v", fieldsFile, err)
	}
}

// shapeNames are the shapes of the named types, each written once.
type shapeNames struct {
	inOrder [][2]string
}

// shapeOf writes the shape of a value for the client.
func (n *shapeNames) shapeOf(t reflect.Type, indent string) string {
	switch t.Kind() {
	case reflect.String:
		return `"text"`
	case reflect.Bool:
		return `"flag"`
	case reflect.Int, reflect.Float64:
		return `"number"`
	case reflect.Pointer:
		return `["?", ` + n.shapeOf(t.Elem(), indent) + "]"
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Uint8 {
			return `"json"`
		}
		return "[" + n.shapeOf(t.Elem(), indent) + "]"
	}
	if t.Name() == "" {
		return n.object(t, indent)
	}
	name := strings.ToLower(t.Name()[:1]) + t.Name()[1:]
	if !slices.ContainsFunc(n.inOrder, func(one [2]string) bool { return one[0] == name }) {
		written := n.object(t, "")
		n.inOrder = append(n.inOrder, [2]string{name, written})
	}
	return name
}

// object writes the shape of a struct: its own fields before those of an embedded struct, as
// encoding/json does.
func (n *shapeNames) object(t reflect.Type, indent string) string {
	var names, parts []string
	add := func(f reflect.StructField) {
		if name := fieldName(f); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
			parts = append(parts, indent+"  "+name+": "+n.shapeOf(f.Type, indent+"  ")+",\n")
		}
	}
	for i := range t.NumField() {
		if f := t.Field(i); !f.Anonymous {
			add(f)
		}
	}
	for i := range t.NumField() {
		if f := t.Field(i); f.Anonymous {
			for j := range f.Type.NumField() {
				add(f.Type.Field(j))
			}
		}
	}
	return "{\n" + strings.Join(parts, "") + indent + "}"
}

func fieldName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	switch name {
	case "":
		return strings.ToLower(f.Name)
	case "-":
		return ""
	}
	return name
}
