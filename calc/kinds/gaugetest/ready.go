package gaugetest

import "gaugewright/calc/document"

// ready is a method with a name: its document, the uncertainty that it is meant for, and the
// sources of its parts.
type ready struct {
	name, title, meant string
	definition         string
	notes              []string
}

const (
	cycle1        = `{"direction":"up"},{"direction":"down"}`
	remounted     = `{"direction":"up","remount":true,"exercise":1},{"direction":"down"}`
	waitsDKD      = `"exercise_hold_s":30,"rest_s":60,"hold_s":30,"hold_top_s":120`
	waitsEURAMET  = `"exercise":3,"exercise_hold_s":30,"rest_s":60,"hold_s":30,"hold_top_s":30`
	elevenPoints  = `"points":{"count":11}`
	simpleSetting = `"way":"applied-set","decision":{"rule":"simple"}`
)

var notesDKD = []string{
	"Points, preloads and waits: DKD-R 6-1 (03/2014), restated, not read in the document. The series, the hold of preloads and the rest between series: from memory.",
	"Of spring-tube gauges the hold at the upper limit is 5 minutes: set hold_top_s to 300.",
	"The falling series takes the zero of its cycle's rising series. Repeatability is the largest change between any two cycles of one mounting; with two it is that of the guideline.",
}

var notesEURAMET = []string{
	"Preloads and waits: common practice, no source. Versions of the guide after 2.0 (03/2011) may ask for something else.",
}

// readyMethods are the sequences of DKD-R 6-1 and of EURAMET cg-17.
var readyMethods = []ready{
	{"dkd-r6-1-a", "DKD-R 6-1, sequence A", "below 0.1 % of span",
		`{"kind":"gauge","points":{"count":9},"series":[` + cycle1 + `,` + cycle1 + `,` + remounted + `],"exercise":3,` + waitsDKD + `,` + simpleSetting + `}`,
		append([]string{"After re-mounting one preload is asked for: chosen here."}, notesDKD...)},
	{"dkd-r6-1-b", "DKD-R 6-1, sequence B", "from 0.1 to 0.6 % of span",
		`{"kind":"gauge","points":{"count":9},"series":[` + cycle1 + `,{"direction":"up"}],"exercise":2,` + waitsDKD + `,` + simpleSetting + `}`, notesDKD},
	{"dkd-r6-1-c", "DKD-R 6-1, sequence C", "above 0.6 % of span",
		`{"kind":"gauge","points":{"count":5},"series":[` + cycle1 + `],"exercise":1,` + waitsDKD + `,` + simpleSetting + `}`, notesDKD},
	{"cg-17-basic", "EURAMET cg-17, basic", "above 0.2 % of full scale (k = 2)",
		`{"kind":"gauge","points":{"count":6},"series":[` + cycle1 + `,{"direction":"up","percents":["0","60"]},{"direction":"up","percents":["0","60"]}],` + waitsEURAMET + `,` + simpleSetting + `}`,
		append([]string{"Six points, once up and down: EURAMET cg-17 v2.0 clause 5.2.1. Three rising readings at one point, preferably at half scale: from memory; of six equal steps 60 % is taken."}, notesEURAMET...)},
	{"cg-17-standard", "EURAMET cg-17, standard", "from 0.05 to 0.2 % of full scale (k = 2)",
		`{"kind":"gauge",` + elevenPoints + `,"series":[` + cycle1 + `,{"direction":"up","percents":["0","20","50","80"]},{"direction":"up","percents":["0","20","50","80"]}],` + waitsEURAMET + `,` + simpleSetting + `}`,
		append(
			[]string{"Eleven points once up and down, three rising readings at 0, 20, 50 and 80 %: from memory."},
			notesEURAMET...,
		)},
	{"cg-17-comprehensive", "EURAMET cg-17, comprehensive", "below 0.05 % of full scale (k = 2)",
		`{"kind":"gauge",` + elevenPoints + `,"series":[` + cycle1 + `,` + cycle1 + `,` + cycle1 + `],` + waitsEURAMET + `,` + simpleSetting + `}`,
		append([]string{"Eleven points, three times up and down: from memory."}, notesEURAMET...)},
}

// Calculations returns the calculation of the package.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "methods", Call: calculateMethods}}
}

// calculateMethods is the calculation methods: {list: true} → the ready methods; {name} → one of
// them.
func calculateMethods(in *document.Reader, out *document.Writer) error {
	all := in.Flag("list", false)
	name := in.TextOr("name", "")
	known := false
	for i := range readyMethods {
		known = known || readyMethods[i].name == name
	}
	switch {
	case in.Err() != nil:
	case all == (name != ""):
		in.Fail(document.CodeMissing, "name", "ask for the list, or for one method by its name")
	case !all && !known:
		in.Fail(document.CodeRange, "name", "there is no method called "+document.Quote(name))
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("methods")
	for i := range readyMethods {
		m := &readyMethods[i]
		if !all && m.name != name {
			continue
		}
		out.Begin()
		out.Text("name", m.name)
		out.Text("title", m.title)
		out.Text("expanded_uncertainty", m.meant)
		out.Raw("definition", []byte(m.definition))
		out.BeginList("notes")
		for _, n := range m.notes {
			out.TextItem(n)
		}
		out.EndList()
		out.End()
	}
	out.EndList()
	return nil
}
