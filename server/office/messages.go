package office

import (
	"encoding/json"
	"errors"
	"strings"
	"unicode/utf8"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// longMessage is how many characters a message about an instrument may have.
const longMessage = 1000

var (
	errMessageOnce = errors.New("a message is written once; say the other thing in a new one")
	errMessageText = errors.New("text: a message has 1 to 1000 characters")
	errSeenSelf    = errors.New("everybody says for themselves alone what they have seen")
)

// ofInstrument returns why a user may not write a change to an instrument's messages, or nil. Each
// message is written once, and everybody marks messages as seen for themselves only.
func ofInstrument(v store.View, user auth.User, c *change.Change) error {
	state, known, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	for _, x := range c.Set {
		name, rest, _ := strings.Cut(x.Field, ".")
		switch name {
		case "message":
			if _, written := state.Field(x.Field); known && written {
				return errMessageOnce
			}
			var m struct{ Text string }
			if err := json.Unmarshal(x.Value, &m); err != nil {
				return err
			}
			if n := utf8.RuneCountInString(strings.TrimSpace(m.Text)); n == 0 || n > longMessage {
				return errMessageText
			}
		case "seen":
			if _, who, _ := strings.Cut(rest, "."); who != user.ID || string(x.Value) != "true" {
				return errSeenSelf
			}
		}
	}
	return nil
}
