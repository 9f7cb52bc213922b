package document

// space is what one run of a calculation works in. The next run works in it too: nothing of a
// document or its reply is in it any more when it is given back, but what was read is still
// pointed at until it is written over, so that one that held a large document is dropped.
type space struct {
	slabs  [][]Value // each of slabs values
	inners [][]inner // each of inners
	stack  []Value
	writer Writer
}

// spaces are those that no run works in. More than so many at once are left to the collector.
var spaces = make(chan *space, 8)

func takeSpace() *space {
	select {
	case s := <-spaces:
		return s
	default:
		return new(space)
	}
}

// keptDocument is the longest document whose space is kept.
const keptDocument = 64 << 10

func (s *space) giveBack(doc []byte) {
	if len(doc) > keptDocument {
		return
	}
	s.writer.buf, s.writer.fault = nil, nil
	select {
	case spaces <- s:
	default:
	}
}

// writing returns the writer of a space, which appends to buf.
func (s *space) writing(buf []byte) *Writer {
	w := &s.writer
	if w.turn++; w.turn == 0 { // what was seen so many runs ago would be taken for new
		clear(w.seen[:])
		w.turn = 1
	}
	w.buf, w.fault = buf, nil
	return w
}
