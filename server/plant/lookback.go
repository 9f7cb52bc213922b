package plant

import (
	"encoding/json"

	"gaugewright/sync/merge"
)

// Lookback is the office's file on a standard that was out: the question, the results it touches,
// and the decision about each instrument.
type Lookback struct {
	Base
	Standard string // record id
	Question LookbackQuestion
	Found    *LookbackFound // nil until it is calculated
	Unread   []LookbackUnread
	Affected map[string]LookbackItem // by instrument
	Decided  map[string]LookbackDecision
	Closed   map[string]LookbackClosing
	By, At   string // who opened it, and when
}

// LookbackQuestion is what is known of the standard now, and the day from which it is in doubt.
type LookbackQuestion struct {
	Range  json.RawMessage `json:"range"`
	Since  string          `json:"since"`
	Before json.RawMessage `json:"before,omitempty"` // points; absent to use what each visit knew
	After  json.RawMessage `json:"after"`
	Reason string          `json:"reason"`
}

// LookbackFound counts the results.
type LookbackFound struct {
	Runs    int    `json:"runs"`
	Changed int    `json:"changed"`
	Suspect int    `json:"suspect"`
	Faults  int    `json:"faults"`
	At      string `json:"at"`
}

// LookbackUnread is a visit whose results could not be recalculated.
type LookbackUnread struct {
	Visit   string `json:"visit"`
	Tag     string `json:"tag"`
	Started string `json:"started"`
	Why     string `json:"why"`
}

// LookbackItem is a touched instrument.
type LookbackItem struct {
	Tag         string        `json:"tag"`
	Serial      string        `json:"serial"`
	Description string        `json:"description"`
	Runs        []LookbackRun `json:"runs"`
}

// LookbackRun is a result, as it was and as it would be.
type LookbackRun struct {
	Visit       string   `json:"visit"`
	Label       string   `json:"label"`
	As          string   `json:"as"`
	Started     string   `json:"started"`
	Before      string   `json:"before"`
	After       string   `json:"after"`
	WorstBefore *float64 `json:"worst_before"`
	WorstAfter  *float64 `json:"worst_after"`
	Readings    int      `json:"readings"` // whose verdict changes
	Out         int      `json:"out"`      // taken where the standard was out
	Certificate string   `json:"certificate"`
	Fault       string   `json:"fault,omitempty"`
}

// LookbackDecision is what the office decided about an instrument.
type LookbackDecision struct {
	Way    string `json:"way"` // none, tell, recall or recalibrate
	Reason string `json:"reason"`
	Owner  string `json:"owner"` // a user's id
	Due    string `json:"due"`
	By     string `json:"-"`
	At     string `json:"-"`
}

// LookbackClosing is what was finally done about an instrument.
type LookbackClosing struct {
	Note string `json:"note"`
	By   string `json:"-"`
	At   string `json:"-"`
}

// ReadLookback reads a look-back.
func ReadLookback(s merge.State) (Lookback, error) {
	r, b := open(&s, "lookback")
	v := Lookback{
		Base: b, Standard: r.text("standard"), Affected: map[string]LookbackItem{},
		Decided: map[string]LookbackDecision{}, Closed: map[string]LookbackClosing{},
	}
	r.take("question", &v.Question)
	r.take("found", &v.Found)
	if f, ok := s.Field("question"); ok && len(f.Heads) > 0 {
		v.By, v.At = f.Heads[0].Author, f.Heads[0].Wall
	}
	r.many("unread", func(_ string, f *merge.Field) {
		var one LookbackUnread
		if r.take(f.Name, &one) {
			v.Unread = append(v.Unread, one)
		}
	})
	r.many("affected", func(id string, f *merge.Field) {
		var one LookbackItem
		if r.take(f.Name, &one) {
			v.Affected[id] = one
		}
	})
	r.many("decision", func(id string, f *merge.Field) {
		one := LookbackDecision{By: f.Heads[0].Author, At: f.Heads[0].Wall}
		if r.take(f.Name, &one) {
			v.Decided[id] = one
		}
	})
	r.many("closed", func(id string, f *merge.Field) {
		one := LookbackClosing{By: f.Heads[0].Author, At: f.Heads[0].Wall}
		if r.take(f.Name, &one) {
			v.Closed[id] = one
		}
	})
	return v, r.err
}
