package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"github.com/labstack/echo/v4"
)

var (
	errDate      = errors.New("date has the form 2026-03-04")
	errChanged   = errors.New("the visit's runs have changed since they were shown; look at them again")
	errUnsigned  = errors.New("the visit is not signed as it stands")
	errApproved  = errors.New("the visit is approved already")
	errRemark    = errors.New("say in the remark what the technician should do")
	errContested = errors.New("people still have to choose between values")
	errOwn       = errors.New("whoever made, corrected or signed a visit does not approve it; another person has to look at it")
)

// maxRemark caps what the office says to a technician: a screen of text.
const maxRemark = 2000

// row is a visit in a list.
type row struct {
	ID            string   `json:"id"`
	Tag           string   `json:"tag"`
	Serial        string   `json:"serial"`
	Description   string   `json:"description"`
	Area          string   `json:"area"`
	Place         string   `json:"place"`
	Method        string   `json:"method"`
	Person        string   `json:"person"`
	Started       string   `json:"started"`
	Signed        string   `json:"signed"`
	Status        string   `json:"status"`
	AsFound       string   `json:"as_found"` // verdicts; "" where there is none
	AsLeft        string   `json:"as_left"`
	WorstFraction *float64 `json:"worst_fraction"`
	Attention     []string `json:"attention"`
}

// maxWaiting is how many visits of other days are listed at once; what is left comes up as these are dealt with.
const maxWaiting = 200

func (s *server) day(c echo.Context) error {
	date := c.QueryParam("date")
	if date == "" {
		date = s.Now().Format(time.DateOnly)
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return errDate
	}
	today, waiting, err := s.desk.day(date)
	if err != nil {
		return err
	}
	more := max(0, len(waiting)-maxWaiting)
	names, err := s.names()
	if err != nil {
		return err
	}
	lists := [2][]row{{}, {}}
	for i, cards := range [][]visitCard{today, waiting[:len(waiting)-more]} {
		for _, card := range cards {
			r, err := s.row(card, names)
			if err != nil {
				return err
			}
			lists[i] = append(lists[i], r)
		}
	}
	held, err := s.Store.Quarantined()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"date": date, "visits": lists[0], "waiting": lists[1], "more": more, "quarantined": len(held)})
}

func (s *server) row(card visitCard, names map[string]string) (row, error) {
	damaged := row{ID: card.id, Started: card.started, Signed: card.signed, Status: string(card.status), Attention: []string{"damaged"}}
	v, err := plant.LoadVisit(s.Store, card.id)
	if errors.Is(err, plant.ErrValue) {
		return damaged, nil // one unreadable visit does not hide the others
	}
	if err != nil {
		return row{}, err
	}
	runs, err := plant.Runs(s.Store, v.ID)
	if errors.Is(err, plant.ErrValue) {
		return damaged, nil
	}
	if err != nil {
		return row{}, err
	}
	r := row{ID: v.ID, Tag: v.Item.Tag, Serial: v.Item.Serial, Description: v.Item.Description, Area: v.Item.Area, Place: v.Item.Place,
		Method: v.Method.Name, Person: called(names, v.Person), Started: v.Started, Signed: card.signed, Status: string(v.Status), Attention: attention(&v, runs)}
	sum := v.Summarise(runs)
	if sum.AsFound != nil {
		r.AsFound, r.WorstFraction = sum.AsFound.Verdict, sum.AsFound.WorstFraction
	}
	if sum.AsLeft != nil {
		r.AsLeft = sum.AsLeft.Verdict
	}
	return r, nil
}

// names maps user ids to names: those of the people on record, and of the accounts where there is no record.
func (s *server) names() (map[string]string, error) {
	users, err := s.Keeper.Users()
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, u := range users {
		names[u.ID] = u.Name
	}
	people, err := s.Store.ByKind("person", "", 0)
	if err != nil {
		return nil, err
	}
	for _, one := range people {
		if p, err := plant.ReadPerson(one); err == nil && p.Name != "" {
			names[p.ID] = p.Name
		}
	}
	return names, nil
}

func called(names map[string]string, id string) string {
	if n, ok := names[id]; ok {
		return n
	}
	return id
}

func (s *server) record(id string) (merge.State, error) {
	state, ok, err := s.Store.Record(id)
	if err == nil && !ok {
		err = fmt.Errorf("the record %q %w", id, plant.ErrNotFound)
	}
	return state, err
}

func (s *server) officeVisit(c echo.Context) error {
	id := c.Param("id")
	runs, err := plant.Runs(s.Store, id)
	if err != nil {
		return err
	}
	away, err := s.recheckTraces(c.Request().Context(), runs)
	if err != nil {
		return err
	}
	state, err := s.record(id)
	if err != nil {
		return err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return err
	}
	names, err := s.names()
	if err != nil {
		return err
	}
	history, err := s.past(names, id)
	if err != nil {
		return err
	}
	states := make([]json.RawMessage, 0, len(runs))
	for _, r := range runs {
		one, _, err := s.Store.Record(r.ID)
		if err != nil {
			return err
		}
		states = append(states, one.Bytes())
		more, err := s.past(names, r.ID)
		if err != nil {
			return err
		}
		history = append(history, more...)
	}
	papers, err := s.certificatesOf(id)
	if err != nil {
		return err
	}
	slices.SortFunc(history, func(a, b past) int { return int(a.Seq) - int(b.Seq) })
	looked := attention(&v, runs)
	if away {
		looked = append(looked, "trace_away")
	}
	return c.JSON(http.StatusOK, map[string]any{"visit": json.RawMessage(state.Bytes()), "runs": states, "status": v.Status, "attention": looked,
		"covers": plant.Covers(runs), "people": names, "history": history, "certificates": papers})
}

// past is one change of a record, for people to read.
type past struct {
	Seq    uint64    `json:"seq"`
	Change string    `json:"change"`
	Record string    `json:"record"`
	Kind   string    `json:"kind"`
	Author string    `json:"author"`
	Device string    `json:"device"`
	Wall   string    `json:"wall"`
	Set    []pastSet `json:"set"`
}

type pastSet struct {
	Field  string          `json:"field"`
	Value  json.RawMessage `json:"value"` // null where it is too long to be shown in a list
	Bytes  int             `json:"bytes"`
	Before json.RawMessage `json:"before"` // what the writer saw there; null where nothing was, or it is too long
	First  bool            `json:"first"`  // nothing was there before
}

// maxShown is the length of a value that a history shows; plans, findings and strokes are longer.
const maxShown = 400

func (s *server) past(names map[string]string, record string) ([]past, error) {
	entries, err := s.Store.History(record)
	if err != nil {
		return nil, err
	}
	short := func(b []byte) json.RawMessage {
		if len(b) == 0 || len(b) > maxShown {
			return json.RawMessage("null")
		}
		return b
	}
	list, values := []past{}, map[string][]byte{}
	for _, e := range entries {
		p := past{e.Seq, e.Change.ID, e.Change.Record, e.Change.Kind, called(names, e.Change.Author), e.Change.Device, e.Change.Wall, nil}
		for _, x := range e.Change.Set {
			one := pastSet{Field: x.Field, Value: short(x.Value), Bytes: len(x.Value), First: len(x.Sees) == 0, Before: json.RawMessage("null")}
			for _, seen := range x.Sees {
				one.Before = short(values[seen+" "+x.Field])
			}
			values[e.Change.ID+" "+x.Field] = x.Value
			p.Set = append(p.Set, one)
		}
		list = append(list, p)
	}
	return list, nil
}

func (s *server) history(c echo.Context) error {
	if _, err := s.record(c.Param("id")); err != nil {
		return err
	}
	names, err := s.names()
	if err != nil {
		return err
	}
	list, err := s.past(names, c.Param("id"))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"history": list})
}

// signedVisit reads a visit that the office may decide on.
func (s *server) signedVisit(id string) (state merge.State, v plant.Visit, runs []plant.Run, err error) {
	if state, err = s.record(id); err != nil {
		return state, v, nil, err
	}
	if v, err = plant.ReadVisit(state); err != nil {
		return state, v, nil, err
	}
	if v.Status == plant.Approved {
		return state, v, nil, errApproved
	}
	if v.Status != plant.Signed {
		return state, v, nil, errUnsigned
	}
	runs, err = plant.Runs(s.Store, id)
	return state, v, runs, err
}

// approvedVisit reads a visit whose approval stands.
func (s *server) approvedVisit(id string) (state merge.State, v plant.Visit, err error) {
	if state, err = s.record(id); err != nil {
		return state, v, err
	}
	if v, err = plant.ReadVisit(state); err == nil && v.Status != plant.Approved {
		err = errNotYet
	}
	return state, v, err
}

func (s *server) approve(c echo.Context) error {
	var in struct {
		Covers []string `json:"covers"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	slices.Sort(in.Covers)
	user := c.Get("user").(auth.User)
	var out issued
	err := s.desk.write(c.Request().Context(), user.ID, func(p *plant.Pen) ([]change.Change, error) {
		state, v, runs, err := s.signedVisit(c.Param("id"))
		if err != nil {
			return nil, err
		}
		covers := plant.Covers(runs)
		contested := slices.Clone(v.Contested)
		for _, r := range runs {
			contested = append(contested, r.Contested...)
		}
		signed, _ := state.Field("signature")
		switch {
		case v.Person == user.ID || slices.ContainsFunc(signed.Heads, func(h merge.Head) bool { return h.Author == user.ID }) || typed(runs, user.ID):
			return nil, errOwn
		case !slices.Equal(in.Covers, covers):
			return nil, errChanged
		case !slices.Equal(v.Signature.Covers, covers) || slices.ContainsFunc(runs, func(r plant.Run) bool { return r.ClosedAt == "" }):
			return nil, errUnsigned
		case len(contested) > 0:
			return nil, fmt.Errorf("%w of %s", errContested, strings.Join(contested, ", "))
		}
		return s.approved(p, state, covers, s.base(c), &out)
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"status": plant.Approved, "certificate": out})
}

// approved drafts the approval and, where it can be written, the certificate that it names: both are kept or neither.
func (s *server) approved(p *plant.Pen, state merge.State, covers []string, base string, out *issued) ([]change.Change, error) {
	approve := func(p *plant.Pen, certificate string) (change.Change, merge.State, error) {
		return p.Edit(state, s.Now(), plant.Set{Field: "approval", Value: map[string]any{"certificate": certificate, "covers": covers}})
	}
	trial := *p
	_, next, err := approve(&trial, "")
	if err != nil {
		return nil, err
	}
	var list []change.Change
	if *out, list, err = s.issue(p, over{s.Store, map[string]merge.State{state.ID: next}}, state.ID, base); err != nil {
		return nil, err
	}
	one, _, err := approve(p, out.ID)
	return append(list, one), err
}

func (s *server) sendBack(c echo.Context) error {
	var in struct {
		Remark string `json:"remark"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	return s.state(c, "returned", "remark", in.Remark, errRemark, plant.Returned, func(id string) (merge.State, error) {
		state, _, _, err := s.signedVisit(id)
		return state, err
	})
}

// state writes what the office says of a visit as a field of its own; missing is the answer where it says nothing or too much, visit finds it in a
// state in which it may be said.
func (s *server) state(c echo.Context, field, name, words string, missing error, next plant.Status, visit func(id string) (merge.State, error)) error {
	if words = strings.TrimSpace(words); words == "" || len(words) > maxRemark {
		return missing
	}
	user := c.Get("user").(auth.User)
	err := s.desk.write(c.Request().Context(), user.ID, func(p *plant.Pen) ([]change.Change, error) {
		state, err := visit(c.Param("id"))
		if err != nil {
			return nil, err
		}
		id, err := newID()
		if err != nil {
			return nil, err
		}
		one, _, err := p.Edit(state, s.Now(), plant.Set{Field: field + "." + id, Value: map[string]any{name: words}})
		return []change.Change{one}, err
	})
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"status": next})
}
