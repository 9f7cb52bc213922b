package office

import (
	"encoding/json"

	"gaugewright/sync/store"
)

// Cursor is up to where somebody read the journal who tells others of it. It begins at the end: what
// was there before is not told.
type Cursor struct {
	store *store.Store
	marks store.Private
}

// cursorMark is its key among the marks of whoever reads.
const cursorMark = "cursor"

// NewCursor returns the cursor that is kept among somebody's marks.
func NewCursor(s *store.Store, marks store.Private) Cursor { return Cursor{s, marks} }

type readTo struct {
	Seq   uint64 `json:"seq"`
	Epoch string `json:"epoch"`
}

// At returns the entry that was read last. After a backup was brought back it is the end: what is
// there was told before.
func (c Cursor) At() (uint64, error) {
	last, err := c.store.Last()
	if err != nil {
		return 0, err
	}
	b, err := c.marks.Get(cursorMark)
	if err != nil || b == nil {
		return last, err
	}
	var at readTo
	if json.Unmarshal(b, &at) != nil || at.Epoch != c.store.Restored() || at.Seq > last {
		return last, nil
	}
	return at.Seq, nil
}

// Moving is the step that moves it.
func (c Cursor) Moving(to uint64) (store.Step, error) {
	b, err := json.Marshal(readTo{to, c.store.Restored()})
	return c.marks.Putting(cursorMark, b), err
}
