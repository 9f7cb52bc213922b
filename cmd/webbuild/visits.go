package main

import "slices"

// reach gives the scripts that a script brings, now or later, without those of some areas.
func reach(out files, from string, without []string) map[string]bool {
	seen := map[string]bool{}
	var walk func(name string)
	walk = func(name string) {
		if seen[name] || is(name, without...) {
			return
		}
		seen[name] = true
		for _, m := range imported.FindAllSubmatch(out[name], -1) {
			walk("assets/" + string(m[1]))
		}
	}
	for _, name := range out.names() {
		if is(name, from) {
			walk(name)
		}
	}
	return seen
}

// withVisits gives the budgets with a line of its own for the screens of a visit: they come when somebody opens one, and not with the page.
func withVisits(budgets []budget, out files) []budget {
	page := reach(out, "main", slices.Concat(onRequest, systems, writing, []string{"visit"}))
	opened := reach(out, "visit", slices.Concat(onRequest, systems, writing))
	late := func(s *size) bool { return opened[s.name] && !page[s.name] && !s.requested }
	list := slices.Clone(budgets)
	first := list[0].counts
	list[0].counts = func(s *size) bool { return first(s) && !late(s) }
	return append(list, budget{"a visit's screens, opened from the page", 26_000, late, false})
}
