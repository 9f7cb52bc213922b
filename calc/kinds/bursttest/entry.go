package bursttest

import (
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/work"
)

// doubtsOfBurst lays out a burst test and returns the doubts about a value that is about to be
// kept.
func doubtsOfBurst(in *document.Reader, e *work.Entry, kept []work.Entry) ([]work.Doubt, error) {
	b, err := layBurst(in, nil)
	if err != nil {
		return nil, err
	}
	if list := b.speaks(e, kept); list != nil {
		return list, nil
	}
	return work.Mistyped(expand)(in, e, kept)
}

// speaks returns the doubts about a value of a burst test. It refuses an identity that another disc
// of the visit has.
func (b *burstWork) speaks(e *work.Entry, kept []work.Entry) []work.Doubt {
	id, is := strings.CutSuffix(e.Step, ".disc")
	switch {
	case is && e.Of == "answer":
		for i := range kept {
			other, disc := strings.CutSuffix(kept[i].Step, ".disc")
			if disc && other != id && sameDisc(kept[i].Text, e.Text) {
				return work.DoubtOf(work.LevelRefuse, work.StopDisc, discTwice(other[1:], id[1:], e.Text))
			}
		}
	case strings.HasSuffix(e.Step, ".temp") && e.Number:
		if why := work.NoPart(e.X); why != "" {
			return work.DoubtOf(work.LevelRefuse, work.StopPlace, why)
		}
	}
	return nil
}

// sameDisc reports whether two identities are the same. Case and spaces do not count.
func sameDisc(a, b string) bool {
	bare := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }
	return bare(a) != "" && bare(a) == bare(b)
}

func discTwice(first, second, identity string) string {
	return "disc " + first + " and disc " + second + " have the same identity, " + document.Quote(identity) + ": a disc bursts once"
}
