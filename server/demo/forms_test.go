package demo_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"slices"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

var write = flag.Bool("write", false, "write the documents that the browser's forms are tried on")

// formDocuments is what the unit tests of the browser's forms read.
const formDocuments = "../../testdata/forms.json"

// samplesOfEach is how many invented sheets are taken for a calculation; every kind occurs several
// times.
const samplesOfEach = 48

type formDocument struct {
	Kind        string          `json:"kind"`
	Method      json.RawMessage `json:"method,omitempty"`
	Particulars json.RawMessage `json:"particulars,omitempty"`
}

// TestFormsAreTriedOnWhatThereIs keeps testdata/forms.json current: the methods and instrument data
// of the demo plant and of the calculations' sample documents, which the unit tests of the
// browser's forms open and write back.
func TestFormsAreTriedOnWhatThereIs(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today})
	var found []formDocument
	methods, err := plant.All(s, "method", plant.ReadMethod)
	for _, m := range all(t, methods, err) {
		found = append(found, formDocument{Kind: m.Kind, Method: m.Definition})
	}
	instruments, err := plant.All(s, "instrument", func(i merge.State) (formDocument, error) {
		v, err := plant.ReadInstrument(i)
		what, _ := i.Value("particulars")
		return formDocument{Kind: v.Kind, Particulars: what}, err
	})
	for _, i := range all(t, instruments, err) {
		if len(i.Particulars) > 0 {
			found = append(found, i)
		}
	}
	for _, x := range calc.Samples() {
		if x.Calculation != "expand" && x.Calculation != "evaluate" {
			continue
		}
		for n := range uint64(samplesOfEach) {
			var sheet struct {
				Method     json.RawMessage
				Instrument struct{ Particulars json.RawMessage }
			}
			var kind struct{ Kind string }
			if err := json.Unmarshal(x.Make(2*n), &sheet); err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(sheet.Method, &kind); err != nil {
				t.Fatal(err)
			}
			found = append(
				found, formDocument{Kind: kind.Kind, Method: sheet.Method, Particulars: sheet.Instrument.Particulars},
			)
		}
	}
	var lines []string
	kinds := map[string]int{}
	for _, d := range found {
		if d.Kind == "gauge" || d.Kind == "programme" {
			continue // they have editors of their own
		}
		b, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Contains(lines, string(b)) {
			lines = append(lines, string(b))
			kinds[d.Kind]++
		}
	}
	if len(kinds) != 8 {
		t.Errorf("documents of %d kinds: %v", len(kinds), kinds)
	}
	slices.Sort(lines)
	var out bytes.Buffer
	for i, l := range lines {
		out.WriteString(map[bool]string{true: "[\n", false: ",\n"}[i == 0] + l)
	}
	out.WriteString("\n]\n")
	if *write {
		if err := os.WriteFile(formDocuments, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(formDocuments)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Bytes(), want) {
		t.Errorf(
			"%s no longer holds what there is: go test ./server/demo -run TestFormsAreTriedOnWhatThereIs -args -write",
			formDocuments,
		)
	}
}
