package office

import (
	"encoding/json"
	"strconv"
	"strings"
	"unicode/utf8"

	"gaugewright/calc/document"
)

// SavedView is a saved view of the register: its query, as in the page's address.
type SavedView struct {
	Name  string `json:"name"`
	Query string `json:"query"`
}

const (
	maxViews     = 50 // of one person: a row of names that can still be read
	maxViewName  = 60
	maxViewQuery = 4000 // the length that addresses may have everywhere
)

// Views lists a person's saved views. They are kept beside the journal with the account, since they
// say nothing of the plant, and are available on every device.
func (o *Office) Views(user string) ([]SavedView, error) {
	list := []SavedView{}
	b, err := o.store.Private("views").Get(user)
	if err != nil || b == nil {
		return list, err
	}
	return list, json.Unmarshal(b, &list)
}

// SetViews stores a person's views.
//
// Refuses: a Fault that names the view.
func (o *Office) SetViews(user string, list []SavedView) error {
	if len(list) > maxViews {
		return document.Refuse(
			document.CodeRange, "views", "more than "+strconv.Itoa(maxViews)+" views cannot be saved",
		)
	}
	seen := map[string]bool{}
	for i, v := range list {
		at := "views[" + strconv.Itoa(i) + "]"
		switch n := utf8.RuneCountInString(strings.TrimSpace(v.Name)); {
		case n == 0 || n > maxViewName:
			return document.Refuse(
				document.CodeRange, at+".name", "has 1 to "+strconv.Itoa(maxViewName)+" characters",
			)
		case seen[v.Name]:
			return document.Refuse(
				document.CodeConflict, at+".name", strconv.Quote(v.Name)+" is there already",
			)
		case len(v.Query) > maxViewQuery:
			return document.Refuse(document.CodeRange, at+".query", "is too long")
		}
		seen[v.Name] = true
	}
	b, err := json.Marshal(list)
	if err != nil {
		return err
	}
	return o.store.Private("views").Put(user, b)
}
