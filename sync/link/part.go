package link

import "gaugewright/calc/document"

// Hold says what a phone holds of a plant that is too large for it. Units are instruments and
// standards with everything below them.
type Hold struct {
	Name  string   // names the list of units, "" if the phone holds everything, or nothing yet
	Units []string // the list; nil if the name suffices
}

// Part is the answer to a phone that holds a part of the plant.
type Part struct {
	Begin  bool     // the phone is to hold a part from now on, or to begin again: it gets nothing until then
	Send   bool     // the list of that name is unknown here: the phone gets nothing until it sends the list
	Wanted []string // units that it needs and does not name
	// Entries are what a search shows of instruments that it does not hold and that have changed:
	// {id, site, set}.
	Entries [][]byte
}

// MaxUnits is how many units a phone can hold.
const MaxUnits = 5000

func readHold(r *document.Reader) (*Hold, error) {
	o, has := r.OptionalObject("hold")
	if !has {
		return nil, r.Err()
	}
	h := Hold{Name: o.TextOr("name", "")}
	if r.Err() == nil && len(h.Name) > maxNonce {
		o.Fail(document.CodeRange, "name", "has at most 64 characters")
	}
	if o.Has("units") {
		h.Units = o.Texts("units")
		if h.Units == nil {
			h.Units = []string{}
		}
		if r.Err() == nil && len(h.Units) > MaxUnits {
			o.Fail(document.CodeRange, "units", "a phone holds at most 5,000 of them")
		}
	}
	return &h, r.Err()
}

func (p *Part) write(w *document.Writer) {
	if p == nil {
		return
	}
	w.BeginObject("part")
	if p.Begin {
		w.Flag("begin", true)
	}
	if p.Send {
		w.Flag("send", true)
	}
	writeIDs(w, "wanted", p.Wanted)
	if len(p.Entries) > 0 {
		w.BeginList("entries")
		for _, one := range p.Entries {
			w.RawItem(one)
		}
		w.EndList()
	}
	w.End()
}
