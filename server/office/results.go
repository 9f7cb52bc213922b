package office

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// PastSheet is an imported sheet of past results, with the certificates that it names.
type PastSheet struct {
	Name    string            `json:"name"`
	File    []byte            `json:"file"`
	Reading Reading           `json:"reading"`
	Papers  map[string][]byte `json:"papers"` // by the names that the sheet uses
}

// PastTest is what an import does with one test of the sheet.
type PastTest struct {
	Line     int                    `json:"line"`
	Tag      string                 `json:"tag"`
	Date     string                 `json:"date"`
	State    string                 `json:"state"` // new, same or bad
	Found    string                 `json:"found"` // verdict as found, "" for none
	Left     string                 `json:"left"`
	Points   int                    `json:"points"`
	Problems []register.PastProblem `json:"problems"`
}

// PastTrial is what importing a sheet would do.
type PastTrial struct {
	Tests   []PastTest     `json:"tests"` // the first of each state
	Count   map[string]int `json:"count"`
	Missing []string       `json:"missing"` // files that new tests name and that were not sent
	Unused  []string       `json:"unused"`  // headings
	Shown   string         `json:"shown"`
}

// TryResults returns what importing a sheet of past results would do; it writes nothing.
//
// Refuses: ErrImport; a Fault that names a part of the reading.
func (o *Office) TryResults(in PastSheet) (PastTrial, error) {
	t, _, err := o.tryResults(&in)
	return t, err
}

func (o *Office) tryResults(in *PastSheet) (t PastTrial, r *register.Results, err error) {
	options, err := in.Reading.options()
	if err != nil {
		return t, nil, err
	}
	if r, err = register.ReadResults(in.Name, in.File, options); err == nil {
		err = r.Check(o.store)
	}
	if err != nil {
		return t, nil, importError(err)
	}
	t = PastTrial{
		Tests: []PastTest{}, Count: map[string]int{}, Missing: []string{},
		Unused: append([]string{}, r.Unused...),
	}
	sum := sha256.New()
	for i := range r.Tests {
		x := &r.Tests[i]
		found, left := x.Verdicts()
		one := PastTest{
			Line: x.Lines[0], Tag: x.Tag, Date: x.Date, State: x.State(), Found: found, Left: left,
			Points: x.Points(), Problems: append([]register.PastProblem{}, x.Problems...),
		}
		b, err := json.Marshal(one)
		if err != nil {
			return t, nil, err
		}
		sum.Write(b)
		if t.Count[one.State]++; t.Count[one.State] <= mostTried {
			t.Tests = append(t.Tests, one)
		}
	}
	for _, name := range r.Files() {
		if in.Papers[name] == nil {
			t.Missing = append(t.Missing, name)
		}
	}
	t.Shown = hex.EncodeToString(sum.Sum(nil))
	return t, r, nil
}

// BringResults imports a sheet of past results as a trial showed it. Each test is marked as
// imported and linked to its certificate's file.
//
// Refuses: ErrStale; a Fault if a file is missing; those of TryResults.
func (o *Office) BringResults(
	ctx context.Context, user string, in PastSheet, shown string,
) (written int, err error) {
	kept := func(b []byte) (string, error) {
		sum := sha256.Sum256(b)
		name := hex.EncodeToString(sum[:])
		return name, o.store.PutBlob(name, b)
	}
	err = o.writer.writeNoted(ctx, user, func(drafter *plant.Drafter) (list []change.Change, _ []store.Step, err error) {
		t, r, err := o.tryResults(&in)
		if err != nil {
			return nil, nil, err
		}
		if t.Shown != shown {
			return nil, nil, ErrStale
		}
		if len(t.Missing) > 0 {
			return nil, nil, document.Refuse(
				document.CodeMissing, "papers", "the file "+t.Missing[0]+" is not there",
			)
		}
		files := map[string]string{}
		for _, name := range r.Files() {
			if files[name], err = kept(in.Papers[name]); err != nil {
				return nil, nil, err
			}
		}
		sheet, err := kept(in.File)
		if err != nil {
			return nil, nil, err
		}
		list, err = r.Changes(drafter, o.now(), sheet, files)
		written = len(list)
		return list, nil, err
	}, asSeen)
	return written, err
}
