package office

import (
	"encoding/json"

	"gaugewright/sync/store"
)

// Cursor is how far a reader that notifies others has read the journal. It starts at the end: older
// entries are not reported.
type Cursor struct {
	store *store.Store
	marks store.Private
}

// CursorMark is its key among the reader's marks.
const CursorMark = "cursor"

// NewCursor returns the cursor stored among a reader's marks.
func NewCursor(s *store.Store, marks store.Private) Cursor { return Cursor{s, marks} }

type readTo struct {
	Seq   uint64 `json:"seq"`
	Epoch string `json:"epoch"`
}

// At returns the last entry that was read. After a restore from a backup it is the end, since what
// is there was already reported.
func (c Cursor) At() (uint64, error) {
	last, err := c.store.Last()
	if err != nil {
		return 0, err
	}
	b, err := c.marks.Get(CursorMark)
	if err != nil || b == nil {
		return last, err
	}
	var at readTo
	if json.Unmarshal(b, &at) != nil || at.Epoch != c.store.Restored() || at.Seq > last {
		return last, nil
	}
	return at.Seq, nil
}

// Moving returns the step that moves the cursor.
func (c Cursor) Moving(to uint64) (store.Step, error) {
	b, err := json.Marshal(readTo{to, c.store.Restored()})
	return c.marks.Putting(CursorMark, b), err
}
