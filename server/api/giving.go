package api

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/merge"
)

// giving writes a reply with what a phone is to hold.
type giving struct {
	*server
	user  auth.User
	w     *document.Writer
	size  uint64 // the position in the journal
	root  string
	count uint64 // the highest count of a stamp in the reply
}

// countText writes a count as text, since a script's numbers may not hold it.
func countText(n uint64) string { return strconv.FormatUint(n, 10) }

func (g *giving) place() (err error) {
	if g.size, err = g.Store.Last(); err != nil {
		return err
	}
	if g.root, err = g.Store.Root(g.size); err != nil {
		return err
	}
	g.w.Text("store", g.Store.StoreID())
	g.w.Text("epoch", g.Store.Epoch())
	g.w.Text("root", g.root)
	g.w.Whole("cursor", int(g.size))
	g.w.Text("scope", scopeOf(g.user))
	if g.user.Limited() {
		g.w.BeginList("sites")
		for _, id := range g.user.Sites {
			g.w.TextItem(id)
		}
		g.w.EndList()
	}
	return nil
}

// group writes records that belong together, with the signature over them.
func (g *giving) group(unit string, list []merge.State) {
	all := make([][]byte, len(list))
	for i := range list {
		all[i] = list[i].Bytes()
		for k := range list[i].Fields {
			for _, h := range list[i].Fields[k].Heads {
				g.count = max(g.count, h.Stamp.Count)
			}
		}
	}
	g.w.Begin()
	g.w.Text("unit", unit)
	g.w.Text("given", g.Store.Vouch(g.size, g.root, all))
	g.w.BeginList("states")
	for _, b := range all {
		g.w.RawItem(b)
	}
	g.w.EndList()
	g.w.End()
}

// plan writes the units that the person needs for the days ahead.
func (g *giving) plan() error {
	planned, err := g.holdings.Planned(g.user)
	if err != nil {
		return err
	}
	g.w.BeginList("wanted")
	for _, id := range planned {
		g.w.TextItem(id)
	}
	g.w.EndList()
	return nil
}

// base writes what all work needs or, to begin with, only the person's rounds. The standards of a
// company are long, and nobody shall wait for them who wants to know where to go.
func (g *giving) base(rounds bool) error {
	if err := g.plan(); err != nil {
		return err
	}
	part := g.holdings.Base
	if rounds {
		part = g.holdings.Rounds
		g.w.Flag("more", true)
	}
	list, err := part(g.user)
	if err != nil {
		return err
	}
	g.w.BeginList("groups")
	g.group("", list)
	g.w.EndList()
	return nil
}

func (g *giving) register(from int) error {
	list, next, all, err := g.holdings.Register(g.user, from, maxEntries)
	if err != nil {
		return err
	}
	g.w.Whole("all", all)
	g.w.Whole("next", next)
	g.w.BeginList("entries")
	for _, b := range list {
		g.w.RawItem(b)
	}
	g.w.EndList()
	return nil
}

// units writes units by their ids, by the id of any of their records, or by the text of a label: as
// many as fit, and the names of the others. It leaves out names of units that the person may not
// have.
func (g *giving) units(names []string) error {
	g.w.BeginList("groups")
	done, given := 0, map[string]bool{}
	for ; done < len(names) && len(g.w.Bytes()) < maxHeldBytes; done++ {
		id, err := g.holdings.Unit(g.user, names[done])
		if err != nil {
			return err
		}
		if id == "" || given[id] {
			continue
		}
		given[id] = true
		list, err := g.holdings.Whole(g.user, id)
		if err != nil {
			return err
		}
		if len(list) > 0 {
			g.group(id, list)
		}
	}
	g.w.EndList()
	g.w.BeginList("left")
	for _, name := range names[done:] {
		g.w.TextItem(name)
	}
	g.w.EndList()
	return nil
}
