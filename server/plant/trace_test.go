package plant_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"testing"
	"unicode/utf16"

	"gaugewright/server/plant"

	"github.com/google/go-cmp/cmp"
)

// TestSheetReadsTheRecord checks that the office takes the same samples of a logger's record as the
// phone, packed or not, reports a record that has not arrived, and keeps answers.
func TestSheetReadsTheRecord(t *testing.T) {
	w := start(t)
	visit := w.make("visit", "", plant.Set{Field: "method", Value: doc{"definition": doc{"kind": "burst"}}},
		plant.Set{Field: "item", Value: doc{"range": doc{"low": "0", "high": "10", "unit": "bar"}}})
	text := []byte("time;p\n0;1,5\n1;2,25\n2;OVER\n3;3\n")
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	reading := doc{
		"separator": ";", "decimal": ",", "first_line": 2,
		"time": doc{"form": "number", "column": 1, "unit": "s"},
		"p":    doc{"column": 2, "unit": "bar", "mode": "gauge"}, "unit": "bar",
	}
	name := func(b []byte) string { sum := sha256.Sum256(b); return hex.EncodeToString(sum[:]) }
	run := w.make("run", visit.ID, plant.Set{Field: "label", Value: "as found"},
		plant.Set{
			Field: "capture.a",
			Value: doc{"step": "ready", "of": "answer", "value": "yes", "unit": "", "at": "2026-03-04T10:00:00Z"},
		},
		plant.Set{
			Field: "capture.b",
			Value: doc{
				"step": "d1", "of": "trace", "value": name(text), "unit": "bar",
				"at": "2026-03-04T10:00:00Z", "reading": reading,
			},
		},
		plant.Set{
			Field: "capture.c",
			Value: doc{
				"step": "d2", "of": "trace", "value": name(packed.Bytes()), "unit": "bar",
				"at": "2026-03-04T10:00:00Z", "reading": reading,
				"file": doc{"name": "x.csv", "packed": "gzip"},
			},
		})
	r, err := plant.ReadRun(run)
	if err != nil {
		t.Fatal(err)
	}
	v, err := plant.LoadVisit(w.store, visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	var away *plant.TraceError
	if _, err := v.Sheet(&r, true); !errors.As(err, &away) || away.SHA256 != name(text) {
		t.Fatalf("without the record: %v", err)
	}
	for _, b := range [][]byte{text, packed.Bytes()} {
		if err := w.store.PutBlob(name(b), b); err != nil {
			t.Fatal(err)
		}
	}
	sheet, err := v.Sheet(&r, true)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Captures []struct{ Step, Of, Value string }
		Traces   []struct {
			Step, Unit string
			T          []float64 `json:"t_s"`
			P          []float64
		}
	}
	if err := json.Unmarshal(sheet, &got); err != nil {
		t.Fatal(err)
	}
	want := got
	want.Captures = []struct{ Step, Of, Value string }{{"ready", "answer", "yes"}}
	want.Traces = want.Traces[:0:0]
	for _, step := range []string{"d1", "d2"} {
		want.Traces = append(want.Traces, struct {
			Step, Unit string
			T          []float64 `json:"t_s"`
			P          []float64
		}{step, "bar", []float64{0, 1, 3}, []float64{1.5, 2.25, 3}})
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("%s\n%s", d, sheet)
	}
}

// TestARecordIsReadAnotherWay: a record whose columns were chosen wrongly stays on record, and the
// sheet reads it as the correction says, also in UTF-16.
func TestARecordIsReadAnotherWay(t *testing.T) {
	w := start(t)
	visit := w.make("visit", "", plant.Set{Field: "method", Value: doc{"definition": doc{"kind": "burst"}}},
		plant.Set{Field: "item", Value: doc{"range": doc{"low": "0", "high": "10", "unit": "bar"}}})
	plain := "time;inlet;outlet\n0;1.5;0.5\n1;2.25;0.75\n"
	reading := func(column int) doc {
		return doc{
			"separator": ";", "decimal": ".", "first_line": 2,
			"time": doc{"form": "number", "column": 1, "unit": "s"},
			"p":    doc{"column": column, "unit": "bar", "mode": "gauge"}, "unit": "bar",
		}
	}
	for mark, order := range map[string]binary.ByteOrder{"": nil, "low byte first": binary.LittleEndian, "high byte first": binary.BigEndian} {
		file := []byte(plain)
		if order != nil {
			file = nil
			for _, x := range utf16.Encode([]rune("\ufeff" + plain)) {
				file = append(file, 0, 0)
				order.PutUint16(file[len(file)-2:], x)
			}
		}
		sum := sha256.Sum256(file)
		name := hex.EncodeToString(sum[:])
		if err := w.store.PutBlob(name, file); err != nil {
			t.Fatal(err)
		}
		run := w.make("run", visit.ID, plant.Set{Field: "label", Value: "as found"},
			plant.Set{
				Field: "capture.a",
				Value: doc{
					"step": "d1", "of": "trace", "value": name, "unit": "bar",
					"at": "2026-03-04T10:00:00Z", "reading": reading(3),
				},
			})
		run = w.edit(run, plant.Set{Field: "capture.b", Value: doc{"step": "d1", "of": "trace", "value": name, "unit": "bar", "at": "2026-03-04T10:05:00Z", "reading": reading(2),
			"supersedes": "a", "reason": "that was the outlet"}})
		r, err := plant.ReadRun(run)
		if err != nil || len(r.Captures) != 2 || r.Effective()[0].Reason != "that was the outlet" {
			t.Fatal(r.Captures, err)
		}
		v, err := plant.LoadVisit(w.store, visit.ID)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := v.Sheet(&r, true)
		if err != nil {
			t.Fatal(err)
		}
		var got struct{ Traces []struct{ P []float64 } }
		if err := json.Unmarshal(sheet, &got); err != nil || len(got.Traces) != 1 ||
			!cmp.Equal(got.Traces[0].P, []float64{1.5, 2.25}) {
			t.Errorf("%s: %s %v", mark, sheet, err)
		}
	}
}

func TestOnlyReadingsMustBeNumbers(t *testing.T) {
	for text, ok := range map[string]bool{
		`{"of":"indicated","value":"1.5"}`: true, `{"of":"indicated","value":1.5}`: true, `{"of":"indicated","value":"yes"}`: false,
		`{"of":"answer","value":"disc A-7"}`: true, `{"of":"answer","value":21.5}`: true, `{"of":"trace","value":"ab12"}`: true,
	} {
		var c plant.Capture
		if err := json.Unmarshal([]byte(text), &c); (err == nil) != ok {
			t.Errorf("%s: %v", text, err)
		}
	}
}
