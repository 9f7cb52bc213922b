package demo_test

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
)

// clause is what an accreditation document requires a paper to state, in our words.
type clause struct {
	of, asks string
	where    string // where it is printed
	on       string // which papers: the key of papersOf
	says     string // regular expression that matches the paper's text with blanks collapsed
}

// clauses are the items of ISO/IEC 17025:2017 and of ILAC-P14:09/2020. The numbers and the
// requirements are from memory, in our own words; the documents are not quoted.
var clauses = []clause{
	{"7.8.2.1 a", "a title", "head", "all",
		`(Calibration certificate|[Tt]est report)( of a programme)? No\. `},
	{"7.8.2.1 b", "name and address of the laboratory", "head", "all",
		`^Instrument workshop, Harbour Terminal Quay 7, Building C Harbour Terminal `},
	{"7.8.2.1 c", "where the work was done", "facts", "all", ` Place of the work \S+`},
	{"7.8.2.1 d", "the paper's number on each page, that it is whole, and its end", "head, foot, last line",
		"all", `(Certificate|Report) NUMBER · .* page 1 of \d+ .*— End of (certificate|report) NUMBER —`},
	{"7.8.2.1 e", "name and address of the customer", "facts", "all",
		` Customer Operations, Harbour Terminal `},
	{"7.8.2.1 f", "the method", "facts", "all", ` Method .+, version \d+`},
	{"7.8.2.1 g", "the item: what it is, its serial or tag, its condition", "facts", "all",
		` Item .+ (Serial number|Tag) .+ Condition (good|dirty|not sound)`},
	{"7.8.2.1 h", "when the item was received, where that matters", "facts", "received",
		` Received 1 December 2024 `},
	{"7.8.2.1 i", "when the work was done", "facts", "all", ` Date of (calibration|test) \d+ \w+ 20\d\d `},
	{"7.8.2.1 j", "when the paper was issued", "facts", "all", ` Date of issue \d+ \w+ 20\d\d `},
	{"7.8.2.1 k", "the sampling, where the laboratory did it", "last section; it does none, and says so of a lot",
		"burst", `The discs were tested as they were received; how they were taken from their lot`},
	{"7.8.2.1 l", "that the results relate to the item alone", "last section", "all",
		`The results relate only to the item named above`},
	{"7.8.2.1 m", "the results with their units", "results", "all",
		`(All pressures in \S+\.|Applied pressures in \S+, signals in|(All values in \S+\. figure applied indicated error |figure value )limit (U k )?source verdict)`},
	{"7.8.2.1 n", "what was not done as the method has it", "departures", "departures",
		`Departures from the method, as recorded .* kept with the reason`},
	{"7.8.2.1 o", "who authorises the paper", "last section", "all", ` Authorised by \S+ \S+, reviewer, \d+ `},
	{"7.8.2.1 p", "results of another laboratory, marked", "none: no result of another laboratory is taken in",
		"", ""},
	{"7.8.2.2", "what the customer stated, and that the laboratory does not answer for it", "last section",
		"all", `description, tag and place are stated as the customer gave them.* does not answer for them`},
	{"7.8.3.1 a", "conditions of the test", "facts", "test", ` Conditions \S+ °C`},
	{"7.8.3.1 b", "conformity", "conformity", "test",
		`Conformity (As found|As left): (pass|fail|undecided|conditional \w+)`},
	{"7.8.3.1 c", "the measurement uncertainty in the unit of the result", "results, measurement uncertainty",
		"test", `Measurement uncertainty (The column U gives the expanded uncertainty (of what was applied, )?in the unit of the result|` +
			`No measurement uncertainty was evaluated)`},
	{"7.8.3.1 d, 7.8.4.1 f", "opinions and interpretations", "none: the laboratory gives none; remarks " +
		"have a heading of their own", "remarks", `Remarks \S+`},
	{"7.8.4.1 a", "the measurement uncertainty in the unit of the result", "results, measurement uncertainty",
		"uncertain", `The column U gives the expanded uncertainty (of what was applied, )?in the unit of the result`},
	{"7.8.4.1 b", "conditions of the calibration", "facts", "calibration", ` Conditions \S+ °C`},
	{"7.8.4.1 c", "how the results are traceable", "facts", "all",
		` Traceability (The standard was calibrated on .+, certificate \S+; the chain|No certificate)`},
	{"7.8.4.1 d", "results before and after an adjustment", "results", "adjusted",
		`Results as found .*Results as left, after adjustment `},
	{"7.8.4.1 e", "conformity", "conformity", "calibration",
		`Conformity .*As (found|left): (pass|fail|undecided|conditional \w+)`},
	{"7.8.4.3", "no interval of recalibration", "last section: it is for the owner", "calibration",
		`The date of the next calibration is for the owner to decide`},
	{"7.8.6.1", "a decision rule with its risk", "conformity", "all", `Decision rule\. (Simple|Guard|Pass|A rate)`},
	{"7.8.6.1", "the risk of each run by its name", "conformity", "risk",
		`(As found|As left): the largest probability of a wrong verdict in these results is`},
	{"7.8.6.2 a", "to which results the verdict applies", "conformity", "all",
		`The verdict holds for (every reading|everything) (listed )?below`},
	{"7.8.6.2 b", "against what it was judged", "conformity", "all", `Against: \S+.*?\. The verdict`},
	{"7.8.6.2 c", "the decision rule that was applied", "conformity", "all", `Decision rule\. \S+`},
	{"7.8.8", "an amendment: what it replaces, why, what is different", "head", "amendment",
		` Amendment This (certificate|report) replaces No\. 1999-1, .*Reason Tag mistyped ` +
			`What is different The tag was PI-1 `},
	{"P14 5.1", "uncertainties by the GUM", "form for machines: method, JCGM 100:2008", "", ""},
	{"P14 5.2", "y and U with its unit, k and the coverage probability", "results, measurement uncertainty",
		"uncertain", `multiplied by the coverage factor k .*for a coverage probability of (about )?\d+`},
	{"P14 5.3", "U with two digits at most, the result rounded to it", "measurement uncertainty; the figures " +
		"themselves: TestRoundingIsDecimal", "uncertain", `Values are rounded to the last digit of U, half away from zero`},
	{"P14 5.4", "contributions during the work, of the item too, none of the time after",
		"measurement uncertainty", "uncertain gauge", `contributions of the standard, of its use and of the item` +
			` during the work.* says nothing about long-term stability`},
	{"ours", "who did, checked and issued it, with what they are", "last section", "all",
		` Work done by .+, technician, signed .* Checked by .+, reviewer .*Issued by .+, reviewer `},
}

// papersOf says to which papers a clause applies.
var papersOf = map[string]func(kind string, in *certificates.Input) bool{
	"all":         func(string, *certificates.Input) bool { return true },
	"calibration": func(kind string, _ *certificates.Input) bool { return kind == "gauge" || kind == "transmitter" },
	"test":        func(kind string, _ *certificates.Input) bool { return kind != "gauge" && kind != "transmitter" },
	"burst":       func(kind string, _ *certificates.Input) bool { return kind == "burst" },
	"received":    func(_ string, in *certificates.Input) bool { return in.Visit.Order.Received != "" },
	"adjusted":    func(_ string, in *certificates.Input) bool { return in.Found != nil && in.Left != nil },
	"amendment":   func(_ string, in *certificates.Input) bool { return in.Replaces != "" },
	"remarks":     func(_ string, in *certificates.Input) bool { return len(in.Visit.Remarks) > 0 },
	"departures": func(_ string, in *certificates.Input) bool {
		return in.Found != nil && len(in.Found.Departures()) > 0
	},
	"risk": func(_ string, in *certificates.Input) bool {
		return in.Found != nil && slices.ContainsFunc(
			in.Found.Finding.Points, func(p plant.Point) bool { return p.Risk != nil },
		)
	},
	"uncertain": func(kind string, in *certificates.Input) bool {
		return kind != "programme" && in.Found != nil &&
			(slices.ContainsFunc(in.Found.Finding.Points, func(p plant.Point) bool { return p.Expanded != nil }) ||
				slices.ContainsFunc(
					in.Found.Finding.Results, func(f plant.Figure) bool { return f.Expanded != nil && *f.Expanded > 0 },
				))
	},
	"uncertain gauge": func(_ string, in *certificates.Input) bool {
		return in.Found != nil &&
			slices.ContainsFunc(in.Found.Finding.Points, func(p plant.Point) bool { return p.Expanded != nil })
	},
}

// TestClauses checks every paper against what ISO/IEC 17025 and ILAC-P14 require it to state, and
// the table of server/certificates/CLAUSES.md against these rows (-args -update writes it).
func TestClauses(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 60, Years: 2, Base: "http://localhost:8080"})
	list, kinds := sheets(t, s)
	in := list[0]
	in.Replaces, in.Why, in.Change, in.Visit.Order.Received = "1999-1", "Tag mistyped", "The tag was PI-1", "2024-12-01"
	in.Visit.Remarks = []plant.Remark{{Text: "Isolation valve stiff."}}
	run := *in.Found
	run.Captures = slices.Clone(run.Captures)
	run.Captures[0].Reason = "read twice"
	in.Found = &run
	list, kinds = append(list, in), append(kinds, kinds[0])
	held := make([]int, len(clauses))
	blanks := regexp.MustCompile(`\s+`)
	for i := range list {
		for _, language := range certificates.Languages {
			list[i].Office.Language = language
			pdf, err := certificates.PDF(list[i])
			if err != nil {
				t.Fatal(err)
			}
			text := blanks.ReplaceAllString(textOf(t, pdf), " ")
			for k, c := range clauses {
				if c.on == "" || !papersOf[c.on](kinds[i], &list[i]) {
					continue
				}
				held[k]++
				want := c.says
				if language == certificates.German {
					want = inGerman[[2]string{c.of, c.asks}]
				}
				says := regexp.MustCompile(`(?s)` + strings.ReplaceAll(want, "NUMBER", regexp.QuoteMeta(list[i].Number)))
				if want == "" || !says.MatchString(text) {
					t.Errorf("%s, %s, in %s lacks %s (%s)\n%s", list[i].Number, kinds[i], language, c.asks, c.of, text)
				}
			}
		}
	}
	var table bytes.Buffer
	table.WriteString(clausesHead)
	for k, c := range clauses {
		if c.on != "" && held[k] == 0 {
			t.Errorf("no paper is one that %s is for", c.of)
		}
		on := c.on
		if on == "" {
			on = "none"
		}
		fmt.Fprintf(&table, "| %s | %s | %s | %s |\n", c.of, c.asks, c.where, on)
	}
	const file = "../certificates/CLAUSES.md"
	if *update {
		if err := os.WriteFile(file, table.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if b, err := os.ReadFile(file); err != nil || !bytes.Equal(b, table.Bytes()) {
		t.Errorf("%s is not as the test has it (-args -update writes it): %v", file, err)
	}
}

const clausesHead = `# What a paper has to state, and where it stands

Written by ` + "`go test ./server/demo -run TestClauses -args -update`" + `, which reads every kind of paper back, in
English and in German, and holds it to each row. Numbers without a name are of ISO/IEC 17025:2017, P14 is ILAC-P14:09/2020. What
each asks is from memory and in our words. "Papers": on which of them it is looked for.

| clause | asks for | where it stands | papers |
|---|---|---|---|
`
