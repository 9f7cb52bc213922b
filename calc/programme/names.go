package programme

// known is the set of names that have a value on every path to a point. trail holds them in order
// of arrival, so that a branch can be undone.
type known struct {
	has   map[string]bool
	trail []string
}

func (k *known) add(name string) {
	if name != "" && !k.has[name] {
		k.has[name] = true
		k.trail = append(k.trail, name)
	}
}

// undo removes the names added after a mark, and returns them.
func (k *known) undo(mark int) []string {
	gone := append([]string(nil), k.trail[mark:]...)
	k.trail = k.trail[:mark]
	for _, name := range gone {
		k.has[name] = false
	}
	return gone
}

// names finds every name that some path uses before it is read. A repeat's body is done at least
// once.
func (c *checker) names(steps []Step) {
	k := &known{has: map[string]bool{}}
	c.named(steps, k)
}

// named follows steps and reports whether the path ends inside them.
func (c *checker) named(steps []Step, k *known) (stopped bool) {
	for i := range steps {
		s := &steps[i]
		switch s.Do {
		case Stop:
			return true
		case If:
			c.used(s, s.When, k)
			stopped = c.branch(s.Steps, s.Else, k)
		case Repeat:
			stopped = c.named(s.Steps, k)
			if stopped {
				return true
			}
			if s.When != nil {
				c.used(s, s.When, k)
			}
			stopped = c.branch(nil, s.Else, k)
		default:
			k.add(s.Name)
			stopped = c.branch(nil, s.Else, k)
		}
		if stopped {
			return true
		}
	}
	return false
}

// branch follows two paths that meet again. A name that only one of them reads is not known
// afterwards.
func (c *checker) branch(one, other []Step, k *known) (stopped bool) {
	if len(one) == 0 && len(other) == 0 {
		return false
	}
	mark := len(k.trail)
	end1 := c.named(one, k)
	got1 := k.undo(mark)
	end2 := c.named(other, k)
	got2 := k.undo(mark)
	switch {
	case end1 && end2:
		return true
	case end1:
		got1 = nil
	case end2:
		got2 = nil
	}
	in := map[string]bool{}
	for _, name := range got1 {
		in[name] = true
	}
	for _, name := range got2 {
		if end1 || in[name] {
			k.add(name)
		}
	}
	if end2 {
		for _, name := range got1 {
			k.add(name)
		}
	}
	return false
}

func (c *checker) used(s *Step, e *Expr, k *known) {
	for _, name := range e.names {
		if k.has[name.Text] {
			continue
		}
		why := "nothing reads it"
		if c.kinds[name.Text] != "" {
			why = "it is not read on every way to here"
		}
		c.say("error", "name_unknown", s, name.Text+" has no value here: "+why)
	}
}
