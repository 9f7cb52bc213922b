package office

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// mostAhead is how far a change's count may exceed every count known here. Everybody continues from
// the highest count they saw, so one made-up number would spread to all for good. A phone that
// writes a thousand changes a second takes more than a month to get this far.
const mostAhead = 1 << 32

// wallForm is the form of a change's wall time.
const wallForm = "2006-01-02T15:04:05.000Z"

var (
	errAhead = errors.New("its stamp counts too far beyond all that is known here")
	errWall  = errors.New("wall: is no date and time of the calendar")

	errNotYours = errors.New("the visit is another person's; whoever helps is named in it first")

	// ErrFrozen is wrapped if a write would change an approved visit.
	ErrFrozen = errors.New(
		"the visit is approved and takes nothing further; the office opens it again before anything of it is changed",
	)

	errSaw  = errors.New("sees: names a change that its writer cannot have seen")
	errSeen = errors.New("sees: another change says to have seen this one, and cannot have")

	errHubSpeaks = errors.New(
		"a decision from a hub needs the signature of the reviewer's own key, confirmed by the office",
	)
	errHubErases = errors.New("values are erased at the office alone")
	errBadKey    = errors.New("its signature by a key is not of what it says")
	errKeyRecord = errors.New(
		"a key's record says once whose it is, signed by the key itself, and only its owner ends it",
	)

	errClosed = errors.New("the run is closed; a further reading belongs to a new run")
	errSite   = errors.New("the record is of a site that is not yours")
)

// Judge returns why a push may not write a change: the rules for every record and every sender,
// checked against the records in the transaction that takes it. mine gives the account by which the
// change is judged.
func (o *Office) Judge(mine func(*change.Change) (auth.User, error)) store.Judge {
	return func(v store.View, c *change.Change) error {
		user, err := mine(c)
		if err != nil {
			return err
		}
		if c.Stamp.Count > v.Count()+mostAhead {
			return errAhead
		}
		if _, err := time.Parse(wallForm, c.Wall); err != nil {
			return errWall
		}
		if c.Kind != "round" { // whose fields are judged one by one
			if err := plant.Check(c); err != nil {
				return err
			}
		}
		if err := within(v, user, c, o.now()); err != nil {
			return err
		}
		if err := o.ofKind(v, user, c); err != nil {
			return err
		}
		return saw(v, c)
	}
}

func (o *Office) ofKind(v store.View, user auth.User, c *change.Change) error {
	if c.Kind != "visit" && slices.ContainsFunc(c.Set, func(x change.Setting) bool { return merge.Erases(x.Field) != "" }) {
		return errHubErases
	}
	switch c.Kind {
	case "key":
		return ofKey(v, user, c)
	case "visit":
		return ofVisit(v, user, c)
	case "run":
		return ofRun(v, user, c)
	case "round":
		return o.ofRound(v, c)
	case "instrument":
		return ofInstrument(v, user, c)
	case "method":
		if plant.PutsInForce(c) {
			return plant.ApprovedMethod(c, user.Role == auth.Administrator)
		}
	}
	return nil
}

// saw refuses a change that claims to have seen what it cannot have: its count must exceed the
// counts of all it has seen, and those must be of the same field. A seen change that is unknown
// here may arrive another way. Until then it has no effect, and when it arrives it must be one that
// could be seen.
func saw(v store.View, c *change.Change) error {
	state, known, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	for _, x := range c.Set {
		for _, id := range x.Sees {
			if id == c.ID {
				return errSaw
			}
			seen, here, err := v.Change(id)
			if err != nil {
				return err
			}
			if here && !couldSee(c, &seen, x.Field) {
				return errSaw
			}
		}
		if !known {
			continue
		}
		f, ok := state.Field(x.Field)
		if !ok {
			continue
		}
		if _, claimed := slices.BinarySearch(f.Replaced, c.ID); !claimed {
			continue
		}
		if err := seenWell(v, f, c); err != nil {
			return err
		}
	}
	return nil
}

// couldSee reports whether a change can have seen another in a field: that one must be of the same
// record, set the field and have a lower count.
func couldSee(c, seen *change.Change, field string) bool {
	return seen.Record == c.Record && seen.Stamp.Count < c.Stamp.Count && sets(seen, field)
}

// seenWell refuses a change that another change of the field claims to have seen and cannot have.
// The claim is made by a present value, or by a change that a present value has seen.
func seenWell(v store.View, f *merge.Field, c *change.Change) error {
	var next []string
	for _, h := range f.Heads {
		next = append(next, h.Change)
	}
	for met := map[string]bool{}; len(next) > 0; {
		id := next[0]
		next = next[1:]
		if met[id] {
			continue
		}
		met[id] = true
		one, here, err := v.Change(id)
		if err != nil {
			return err
		}
		if !here {
			continue
		}
		i := slices.IndexFunc(one.Set, func(x change.Setting) bool { return x.Field == f.Name })
		if i < 0 {
			continue
		}
		if slices.Contains(one.Set[i].Sees, c.ID) && !couldSee(&one, c, f.Name) {
			return errSeen
		}
		next = append(next, one.Set[i].Sees...)
	}
	return nil
}

// sets reports whether a change gives a field a value.
func sets(c *change.Change, field string) bool {
	return slices.ContainsFunc(c.Set, func(x change.Setting) bool { return x.Field == field })
}

// within refuses a write by a user with sites to a record of another site, or below one.
func within(v store.View, user auth.User, c *change.Change, now time.Time) error {
	if !user.Limited() {
		return nil
	}
	ours := func(site string) bool { return user.Writes(site, now) }
	if !ours(c.Site) {
		return errSite
	}
	for parent := c.Parent; parent != ""; {
		state, ok, err := v.Record(parent)
		if err != nil || !ok {
			return err
		}
		if !ours(state.Site) {
			return errSite
		}
		if state.Parent == parent {
			break
		}
		parent = state.Parent
	}
	return nil
}

// ofVisit returns why a user may not write a change to a visit, or nil.
func ofVisit(v store.View, user auth.User, c *change.Change) error {
	state, known, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	if decision(c) {
		return ofDecision(v, user, &state, c)
	}
	if err := signedWell(v, c); err != nil {
		return err
	}
	if !known {
		if person, ok := settingOf(c, "person"); ok && user.Role == auth.Technician && textOf(person) != user.ID {
			return errNotYours
		}
		return nil
	}
	if err := open(&state); err != nil {
		return err
	}
	if user.Role != auth.Technician {
		return nil
	}
	if !plant.Named(&state, user.ID) {
		return joins(&state, user, c)
	}
	if person, ok := settingOf(c, "person"); ok && !plant.Named(&state, textOf(person)) {
		return errNotYours
	}
	return nil
}

// joins lets a user name themselves as helping with an unsigned visit, in a change that sets
// nothing else.
func joins(state *merge.State, user auth.User, c *change.Change) error {
	v, err := plant.ReadVisit(*state)
	if err != nil && !errors.Is(err, plant.ErrValue) {
		return err
	}
	if len(c.Set) != 1 || c.Set[0].Field != "with."+user.ID || v.Status == plant.Signed {
		return errNotYours
	}
	return nil
}

// open refuses every write to an approved visit.
func open(state *merge.State) error {
	if _, decided := state.Field("approval"); !decided {
		return nil
	}
	v, err := plant.ReadVisit(*state)
	if err != nil && !errors.Is(err, plant.ErrValue) {
		return err
	}
	if v.Status == plant.Approved {
		return ErrFrozen
	}
	return nil
}

// decision reports whether a change carries a decision of the office.
func decision(c *change.Change) bool {
	return c.Kind == "visit" && slices.ContainsFunc(
		c.Set, func(x change.Setting) bool { return plant.OfficeField(x.Field) },
	)
}

// ofDecision judges a decision that a hub's own routes made. A hub cannot speak for a reviewer, so
// the decision has to carry the signature of a key that the office has confirmed as that
// reviewer's. An approval has to match the visit as it is here.
func ofDecision(v store.View, user auth.User, state *merge.State, c *change.Change) error {
	for _, x := range c.Set {
		word, _, _ := strings.Cut(x.Field, ".")
		if word == "erased" {
			return errHubErases
		}
		if !slices.Contains(decided, word) {
			continue
		}
		said := plant.Said{By: c.Author, Field: x.Field, Record: c.Record, Value: x.Value}
		if x.Field == "approval" {
			said.Without = []string{"certificate"}
		}
		mark, err := plant.MarkOf(v, nil, said, statement.Proof)
		if err != nil {
			return err
		}
		if mark != plant.MarkGood {
			return errHubSpeaks
		}
	}
	if _, ok := settingOf(c, "approval"); !ok {
		return nil
	}
	visit, err := plant.ReadVisit(*state)
	if err != nil {
		return err
	}
	runs, err := plant.Runs(kids{v}, state.ID)
	if err != nil {
		return err
	}
	return mayApprove(kids{v}, state, &visit, runs, user.ID)
}

// decided are the decisions that a person in the office makes.
var decided = []string{"approval", "returned", "reopened"}

// signedWell refuses a key's signature that does not fit the change. A signature by a key that has
// not arrived yet, or has ended, is accepted and shown as such.
func signedWell(v store.View, c *change.Change) error {
	value, ok := settingOf(c, "signature")
	if !ok {
		return nil
	}
	mark, err := plant.MarkOf(
		v, nil, plant.Said{By: c.Author, Field: "signature", Record: c.Record, Value: value},
		statement.Proof,
	)
	if err == nil && mark == plant.MarkBad {
		err = errBadKey
	}
	return err
}

// ofKey returns why a user may not write to the record of a key, or nil. The record says once whose
// key it is, signed by the key itself; its owner may end it. Everything else about keys is written
// by the office.
func ofKey(v store.View, user auth.User, c *change.Change) error {
	state, known, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	for _, x := range c.Set {
		switch x.Field {
		case "public":
			after, err := merge.Apply(merge.State{}, *c)
			if err != nil {
				return err
			}
			k, err := plant.ReadKey(after)
			if err != nil {
				return err
			}
			of, err := statement.Of(user.ID, "key", c.Record, x.Value)
			if known || k.Of != "person" || k.Person != user.ID || err != nil ||
				k.Public.Verify(statement.SignatureIn(x.Value, statement.Proof), of.Bytes()) != nil {
				return errKeyRecord
			}
		case "ended":
			if k, err := plant.ReadKey(state); !known || err != nil || k.Of != "person" || k.Person != user.ID {
				return errKeyRecord
			}
		default:
			return errKeyRecord
		}
	}
	return nil
}

// kids gives plant the runs of a visit from a judge's view. It does not know the order in which
// changes arrived, so a signature of an earlier version is taken at its word.
type kids struct{ store.View }

func (k kids) ByKind(string, string, int) ([]merge.State, error) { return nil, errors.ErrUnsupported }

func (k kids) Lookup(string, string, string) ([]merge.State, error) {
	return nil, errors.ErrUnsupported
}

func (k kids) History(string) ([]store.Entry, error) { return nil, nil }

// ofRun returns why a user may not write a change to a run, or nil. The run must be of an
// unapproved visit that they work on, and no reading may be altered. A reading, and what the run
// began with, is written once. A run that is closed takes no change whose writer knew that, except
// a correction the office asked for.
func ofRun(v store.View, user auth.User, c *change.Change) error {
	visit, known, err := v.Record(c.Parent)
	if err != nil {
		return err
	}
	if known {
		if err := open(&visit); err != nil {
			return err
		}
		if user.Role == auth.Technician && !plant.Named(&visit, user.ID) {
			return errNotYours
		}
	}
	state, begun, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	if begun {
		if err := fits(v, &visit, &state, c); err != nil {
			return err
		}
	}
	return foundOnce(v, &state, c)
}

// fits returns why a change may not be written to an existing run.
func fits(v store.View, visit, run *merge.State, c *change.Change) error {
	closed, err := sawClosed(v, run, c)
	if err != nil {
		return err
	}
	for _, set := range c.Set {
		name, _, _ := strings.Cut(set.Field, ".")
		_, written := run.Field(set.Field)
		switch name {
		case "capture":
			if written {
				return errors.New(
					"the capture " + set.Field + " is written already; a correction is a new one that supersedes it",
				)
			}
			if closed {
				if err := corrects(visit, run, c, set.Value); err != nil {
					return err
				}
			}
		case "label", "plan":
			if written {
				return errors.New("the field " + set.Field + " of a run is written once")
			}
			if closed {
				return errClosed
			}
		case "closed":
			if closed || string(set.Value) == "null" {
				return errClosed
			}
		case "finding": // of a correction, or recalculated because its basis was corrected
		default:
			if closed {
				return errClosed
			}
		}
	}
	return nil
}

// sawClosed reports whether the writer of a change knew that the run was closed: the change names
// the closing as seen, or the same device closed the run before. A device that did not know may
// have written more.
func sawClosed(v store.View, run *merge.State, c *change.Change) (bool, error) {
	f, ok := run.Field("closed")
	if !ok {
		return false, nil
	}
	names := func(id string) bool {
		return slices.ContainsFunc(c.Set, func(x change.Setting) bool { return slices.Contains(x.Sees, id) })
	}
	for _, h := range f.Heads {
		if names(h.Change) {
			return true, nil
		}
		if h.Device != c.Device {
			continue
		}
		closing, ok, err := v.Change(h.Change)
		if err != nil || ok && closing.Seq <= c.Seq {
			return true, err
		}
	}
	return slices.ContainsFunc(f.Replaced, names), nil
}

// Late reports whether a change adds a reading to a closed run by a writer who did not know that it
// was closed.
func Late(v store.View, c *change.Change) (bool, error) {
	if c.Kind != "run" {
		return false, nil
	}
	run, begun, err := v.Record(c.Record)
	if err != nil || !begun {
		return false, err
	}
	if _, closed := run.Field("closed"); !closed {
		return false, nil
	}
	return slices.ContainsFunc(c.Set, func(x change.Setting) bool {
		var in struct{ Supersedes string }
		return strings.HasPrefix(x.Field, "capture.") && json.Unmarshal(x.Value, &in) == nil && in.Supersedes == ""
	}), nil
}

// NoteLate notes on a visit which of its runs received a reading after they were closed, and
// recalculates these runs. after has the ids of the changes that came late.
func (o *Office) NoteLate(ctx context.Context, list []change.Change, after map[string]bool) (all error) {
	for i := range list {
		c := &list[i]
		if !after[c.ID] {
			continue
		}
		err := o.writer.Write(ctx, "", func(p *plant.Drafter) ([]change.Change, error) {
			visit, err := o.Record(c.Parent)
			if err != nil {
				return nil, err
			}
			one, _, err := p.Edit(
				visit, o.now(), plant.Set{Field: "late." + c.Record, Value: map[string]any{"change": c.ID}},
			)
			return []change.Change{one}, err
		})
		all = errors.Join(all, err, o.recheckRun(ctx, c.Record))
	}
	return all
}
