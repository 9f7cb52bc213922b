package plant

import (
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"strings"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Method is a kind of work with its parameters: the version in force, and people's drafts.
type Method struct {
	Base
	Name, Kind string
	Version    int
	Definition json.RawMessage
	Cautions   []string
	Drafts     []MethodDraft
	Approvals  map[int]MethodApproval // by version; none for versions from before approvals were kept
}

// MethodDraft is a person's draft of a method; no work uses it before another person approves it.
type MethodDraft struct {
	User       string `json:"-"` // its owner
	Change     string `json:"-"` // the change that wrote it
	Author     string `json:"-"` // of that change
	Wall       string `json:"-"` // of that change
	Contested  bool   `json:"-"` // written twice without seeing each other
	Name       string `json:"name"`
	Definition json.RawMessage
	Cautions   []string     `json:"cautions"`
	Why        string       `json:"why"`  // the reason for the change
	From       int          `json:"from"` // the version that it was made from
	SentBack   *DraftRemark `json:"-"`    // the office's remark on its present state
}

// DraftRemark is the office's remark on a draft.
type DraftRemark struct {
	Of     string `json:"of"` // the change that wrote the draft
	Why    string `json:"why"`
	Author string `json:"-"`
	Wall   string `json:"-"`
}

// MethodApproval says who wrote a version of a method and why. The author of the change that has it
// put the version into force.
type MethodApproval struct {
	By     string `json:"by"`
	Of     string `json:"of"` // the change that wrote the draft
	Why    string `json:"why,omitempty"`
	Note   string `json:"note,omitempty"`  // by the approver
	Alone  bool   `json:"alone,omitempty"` // there was no second person in the office
	Author string `json:"-"`
	Wall   string `json:"-"`
}

// ReadMethod reads a method.
func ReadMethod(s merge.State) (Method, error) {
	r, b := open(&s, "method")
	v := Method{Base: b, Name: r.text("name"), Kind: r.text("kind"), Approvals: map[int]MethodApproval{}}
	r.take("version", &v.Version)
	r.take("definition", &v.Definition)
	r.take("cautions", &v.Cautions)
	back := map[string]DraftRemark{}
	r.many("sent_back", func(id string, f *merge.Field) {
		m := DraftRemark{Author: f.Heads[0].Author, Wall: f.Heads[0].Wall}
		if r.take(f.Name, &m) {
			back[id] = m
		}
	})
	r.many("draft", func(id string, f *merge.Field) {
		h := f.Heads[0]
		d := MethodDraft{User: id, Change: h.Change, Author: h.Author, Wall: h.Wall, Contested: f.Contested()}
		if !r.take(f.Name, &d) || len(d.Definition) == 0 {
			return
		}
		if m, said := back[id]; said && m.Of == d.Change {
			d.SentBack = &m
		}
		v.Drafts = append(v.Drafts, d)
	})
	r.many("approval", func(id string, f *merge.Field) {
		a := MethodApproval{Author: f.Heads[0].Author, Wall: f.Heads[0].Wall}
		if n, err := strconv.Atoi(id); err == nil && r.take(f.Name, &a) {
			v.Approvals[n] = a
		}
	})
	return v, r.err
}

// DraftOf returns a user's draft of a method.
func (m *Method) DraftOf(user string) (MethodDraft, bool) {
	i := slices.IndexFunc(m.Drafts, func(d MethodDraft) bool { return d.User == user })
	if i < 0 {
		return MethodDraft{}, false
	}
	return m.Drafts[i], true
}

// inForce are the fields that make up the version of a method in force.
var inForce = []string{"name", "kind", "definition", "cautions", "version", "approval"}

// PutsInForce reports whether a change touches the version of a method in force.
func PutsInForce(c *change.Change) bool {
	return c.Kind == "method" && slices.ContainsFunc(c.Set, func(x change.Setting) bool {
		name, _, _ := strings.Cut(x.Field, ".")
		return slices.Contains(inForce, name)
	})
}

// ApprovedMethod returns why a change may not put a version of a method into force, or nil. It must
// have the whole version with its approval, by a person other than its author, or by an
// administrator who was alone and says so.
func ApprovedMethod(c *change.Change, administrator bool) error {
	values := map[string][]byte{}
	for _, x := range c.Set {
		values[x.Field] = x.Value
	}
	var a MethodApproval
	b := values["approval."+string(values["version"])]
	if values["definition"] == nil || b == nil || json.Unmarshal(b, &a) != nil || a.By == "" {
		return errUnapproved
	}
	if a.By == c.Author && !(a.Alone && administrator) {
		return errOwnMethod
	}
	return nil
}

var (
	errUnapproved = errors.New(
		"a method comes into force by the approval of a second person at the office; write a draft of it",
	)
	errOwnMethod = errors.New("whoever wrote a method does not put it into force; another person has to look at it")
)
