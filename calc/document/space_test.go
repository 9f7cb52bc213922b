package document

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// madeUp is a document of random members, some of them lists, objects and numbers that recur.
func madeUp(random *rand.Rand, depth int) string {
	switch k := random.IntN(7); {
	case k == 0 && depth > 0 && depth < 4:
		items := make([]string, random.IntN(9))
		for i := range items {
			items[i] = madeUp(random, depth+1)
		}
		return "[" + strings.Join(items, ",") + "]"
	case k < 4 && depth < 4 || depth == 0:
		items := make([]string, random.IntN(9))
		for i := range items {
			items[i] = fmt.Sprintf(`"m%d":%s`, i, madeUp(random, depth+1))
		}
		return "{" + strings.Join(items, ",") + "}"
	case k == 5:
		return fmt.Sprintf(`"t%d"`, random.IntN(100))
	}
	return fmt.Sprint(random.IntN(50)) + ".25"
}

// TestRunsLeaveNothingBehind: one run works in the space of the one before, also at the same time as
// others and after one that was refused, and gives what a parse in no space gives.
func TestRunsLeaveNothingBehind(t *testing.T) {
	again := Calculation{Call: func(in *Reader, out *Writer) error {
		for _, name := range in.Names() {
			if v, ok := in.Raw(name); ok {
				out.Value(name, v)
				out.Number(name+"n", float64(len(name))/7)
			}
		}
		return in.Err()
	}}
	var all sync.WaitGroup
	for worker := range uint64(4) {
		all.Go(func() {
			random := rand.New(rand.NewPCG(worker, 9))
			for range 100 {
				doc := []byte(madeUp(random, 0))
				v, err := Parse(doc)
				if err != nil {
					t.Error(err)
					return
				}
				w := NewWriter(nil)
				w.Begin()
				if err := again.Call(Open(v), w); err != nil {
					t.Error(err)
					return
				}
				w.Text("calc", "1")
				w.End()
				if got := again.Run(doc, "1"); !bytes.Equal(got, w.Bytes()) {
					t.Errorf("%s\n%s\nwant\n%s", doc, got, w.Bytes())
					return
				}
				if got := again.Run(doc[:len(doc)-1], "1"); !bytes.Contains(got, []byte(`"syntax"`)) {
					t.Errorf("cut short: %s", got)
				}
			}
		})
	}
	all.Wait()
}
