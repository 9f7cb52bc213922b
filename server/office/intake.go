package office

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// Reading says how to read a register's file. The zero value detects everything.
type Reading struct {
	Map       map[string]string            `json:"map"`    // heading → field, "" to leave a column out
	Set       map[string]string            `json:"set"`    // field → value for empty cells
	Values    map[string]map[string]string `json:"values"` // field → cell → value it is read as
	Decimal   string                       `json:"decimal"`
	Dates     string                       `json:"dates"`
	Delimiter string                       `json:"delimiter"`
	Header    int                          `json:"header"` // line of the header, 0: detected
	NewSites  bool                         `json:"new_sites"`
	Twice     string                       `json:"twice"`
	Serials   string                       `json:"serials"`
	Moved     string                       `json:"moved"`
}

func (r *Reading) options() (register.Options, error) {
	marks := map[string]rune{"": 0, ",": ',', ";": ';', "\t": '\t'}
	mark, ok := marks[r.Delimiter]
	if !ok {
		return register.Options{}, document.Refuse(
			document.CodeRange, "reading.delimiter", "is , or ; or a tab",
		)
	}
	for _, x := range []struct {
		name, is string
		may      []string
	}{
		{"decimal", r.Decimal, []string{"comma", "point"}}, {"dates", r.Dates, []string{"dmy", "mdy"}},
		{"twice", r.Twice, []string{"first", "last"}}, {"serials", r.Serials, []string{"correct", "exchange"}},
		{"moved", r.Moved, []string{"move", "new"}},
	} {
		if x.is != "" && !slices.Contains(x.may, x.is) {
			return register.Options{}, document.Refuse(
				document.CodeRange, "reading."+x.name, "is "+x.may[0]+" or "+x.may[1],
			)
		}
	}
	return register.Options{
		Map: r.Map, Set: r.Set, Values: r.Values, Decimal: r.Decimal, Dates: r.Dates, Delimiter: mark,
		Header: r.Header, NewSites: r.NewSites, Twice: r.Twice, Serials: r.Serials, Moved: r.Moved,
		Update: true,
	}, nil
}

// TrialRow is what an import would do with a row.
type TrialRow struct {
	Line     int                   `json:"line"`
	Tag      string                `json:"tag"`
	State    string                `json:"state"`
	Problems []string              `json:"problems"`
	Lost     []string              `json:"lost"`
	Changes  []register.Difference `json:"changes"`
}

// Trial is what an import would do.
type Trial struct {
	Reading   Reading            `json:"reading"`  // how it was read
	Kept      bool               `json:"kept"`     // a file with these headings was imported with this reading before
	Encoding  string             `json:"encoding"` // as detected
	Delimiter string             `json:"delimiter"`
	Decimal   string             `json:"decimal"`
	Header    int                `json:"header"`
	Titles    []string           `json:"titles"`
	Headings  []register.Heading `json:"headings"`
	Fields    []string           `json:"fields"` // the fields a heading can be mapped to
	Count     map[string]int     `json:"count"`  // rows by state
	Causes    []register.Cause   `json:"causes"`
	Rows      []TrialRow         `json:"rows"` // the first of each state
	NewSites  []string           `json:"new_sites"`
	Shown     string             `json:"shown"` // names what is shown; nothing else is imported
}

// mostTried is how many rows of each state a trial lists.
const mostTried = 300

// ErrImport is wrapped if a file is not a readable register.
var ErrImport = errors.New("the file cannot be taken in")

// TryImport reads a register and says row by row what importing it would do; it writes nothing. If
// how is nil, it reads the file as the last one with the same headings was imported.
//
// Refuses: ErrImport; a Fault that names a part of the reading.
func (o *Office) TryImport(data []byte, how *Reading) (Trial, error) {
	t, _, err := o.tryImport(data, how)
	return t, err
}

func (o *Office) tryImport(data []byte, how *Reading) (t Trial, r *register.Register, err error) {
	if how != nil {
		t.Reading = *how
	} else {
		columns, err := register.Columns(data, register.Options{})
		if err == nil {
			t.Kept, err = o.keptReading(columns, &t.Reading)
		}
		if err != nil {
			return t, nil, importError(err)
		}
	}
	options, err := t.Reading.options()
	if err != nil {
		return t, nil, err
	}
	if r, err = register.Read(data, options); err == nil {
		err = r.Check(o.store, options.NewSites)
	}
	if errors.Is(err, register.ErrColumns) { // show the columns, for mapping by hand
		return o.unread(data, t, err)
	}
	if err != nil {
		return t, nil, importError(err)
	}
	t.tell(r)
	sum := sha256.New()
	for i := range r.Rows {
		b, err := json.Marshal([]any{r.Rows[i].State(), r.Rows[i].Fields(), r.Rows[i].Changes})
		if err != nil {
			return t, nil, err
		}
		sum.Write(b)
	}
	t.Shown = hex.EncodeToString(sum.Sum(nil))
	return t, r, nil
}

func importError(err error) error {
	if errors.Is(err, register.ErrFile) || errors.Is(err, register.ErrColumns) {
		return errors.Join(ErrImport, err)
	}
	return err
}

// unread returns the columns of a file in which no column has the tag, with why it cannot be read.
func (o *Office) unread(data []byte, t Trial, why error) (Trial, *register.Register, error) {
	options, err := t.Reading.options()
	if err != nil {
		return t, nil, err
	}
	columns, err := register.Columns(data, options)
	if err != nil {
		return t, nil, importError(why)
	}
	t.tell(columns)
	t.Causes = []register.Cause{{
		Code: "columns", Says: why.Error(), Values: []register.Value{}, Lines: []int{},
	}}
	return t, nil, nil
}

func (t *Trial) tell(r *register.Register) {
	t.Encoding, t.Delimiter, t.Decimal, t.Header = r.Encoding, r.Delimiter, r.Decimal, r.HeaderAt
	t.Titles, t.Headings, t.Fields = append([]string{}, r.Titles...), r.Headings, register.FieldNames()
	t.Causes, t.NewSites = r.Causes(), append([]string{}, r.NewSites...)
	t.Count, t.Rows = map[string]int{}, []TrialRow{}
	for i := range r.Rows {
		row := &r.Rows[i]
		state := row.State()
		if t.Count[state]++; t.Count[state] > mostTried {
			continue
		}
		if state == "new" {
			for _, x := range row.Fields() {
				after, err := plant.Canonical(x.Value)
				if err == nil && x.Field != "tag" && x.Field != "label" {
					row.Changes = append(row.Changes, register.Difference{
						Field: x.Field, Before: json.RawMessage("null"), After: after,
					})
				}
			}
		}
		t.Rows = append(t.Rows, TrialRow{
			Line: row.Line, Tag: row.Tag, State: state, Problems: append([]string{}, row.Problems...),
			Lost: append([]string{}, row.Lost...), Changes: append([]register.Difference{}, row.Changes...),
		})
	}
}

// Imported is what an import did.
type Imported struct {
	New     int `json:"new"`
	Changed int `json:"changed"`
	Left    int `json:"left"` // bad rows
}

// Import imports a register exactly as a trial showed it, in one transaction, and stores how it was
// read for the next file with the same headings.
//
// Refuses: ErrStale if it would now do something else; those of TryImport.
func (o *Office) Import(
	ctx context.Context, user string, data []byte, how Reading, shown string,
) (done Imported, err error) {
	var r *register.Register
	draft := func(drafter *plant.Drafter) (list []change.Change, _ []store.Step, err error) {
		var t Trial
		if t, r, err = o.tryImport(data, &how); err != nil {
			return nil, nil, err
		}
		if r == nil || t.Shown != shown {
			return nil, nil, ErrStale
		}
		done = Imported{t.Count["new"], t.Count["changed"], t.Count["bad"]}
		if list, err = r.Changes(drafter, o.now()); err != nil {
			return nil, nil, err
		}
		text, err := json.Marshal(how)
		if err != nil {
			return nil, nil, err
		}
		return list, []store.Step{o.store.Private("readings").Putting(headingsKey(r), text)}, nil
	}
	err = o.writer.writeNoted(ctx, user, draft, asSeen)
	return done, err
}

// headingsKey returns a key for the headings of a file.
func headingsKey(r *register.Register) string {
	sum := sha256.New()
	for _, h := range r.Headings {
		sum.Write([]byte(register.Same(h.Text) + "\n"))
	}
	return hex.EncodeToString(sum.Sum(nil))
}

func (o *Office) keptReading(r *register.Register, to *Reading) (kept bool, err error) {
	b, err := o.store.Private("readings").Get(headingsKey(r))
	if err != nil || b == nil {
		return false, err
	}
	return true, json.Unmarshal(b, to)
}
