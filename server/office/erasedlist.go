package office

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// ErasedList is the name of the file that lists which values were erased: no value, only where it
// was. The file is kept beside the store and beside its backups, since restoring an older copy
// brings the values back.
const ErasedList = "erased.jsonl"

// ErrUnlisted is wrapped if values were erased but the list could not be written.
var ErrUnlisted = errors.New(
	"the values are erased, but not listed: they come back with an older backup",
)

// erasedLine is a line of the list: what was erased of one change.
type erasedLine struct {
	Kind   string   `json:"kind"`
	Record string   `json:"record"`
	Change string   `json:"change"`
	Fields []string `json:"fields"`
	By     string   `json:"by"`
	At     string   `json:"at"`
	Why    string   `json:"why"`
}

// erasedLists are the lists in their folders, and their contents by change.
type erasedLists struct {
	mu      sync.Mutex
	folders []string
	lines   map[string][]erasedLine
}

// ListErased reads the lists of erasures in some folders, and writes to each of them from now on.
//
// Refuses: errors of the files; a line that cannot be read, by its number.
func (o *Office) ListErased(folders ...string) error {
	l := &o.erased
	l.mu.Lock()
	defer l.mu.Unlock()
	l.folders, l.lines = folders, map[string][]erasedLine{}
	var all []erasedLine
	in := map[string]int{}
	for _, f := range folders {
		list, err := readErased(filepath.Join(f, ErasedList))
		if err != nil {
			return err
		}
		in[f] = len(list)
		for _, x := range list {
			if !l.has(&x) {
				l.lines[x.Change] = append(l.lines[x.Change], x)
				all = append(all, x)
			}
		}
	}
	for _, f := range folders {
		if in[f] == len(all) {
			continue
		}
		there, err := readErased(filepath.Join(f, ErasedList))
		if err != nil {
			return err
		}
		lacking := slices.DeleteFunc(slices.Clone(all), func(x erasedLine) bool {
			return slices.ContainsFunc(there, func(y erasedLine) bool { return same(&x, &y) })
		})
		if err := appendErased(f, lacking); err != nil {
			return err
		}
	}
	return nil
}

func same(a, b *erasedLine) bool {
	return a.Change == b.Change && slices.Equal(a.Fields, b.Fields)
}

func (l *erasedLists) has(x *erasedLine) bool {
	return slices.ContainsFunc(l.lines[x.Change], func(y erasedLine) bool { return same(x, &y) })
}

// add adds erasures to the lists.
func (l *erasedLists) add(list []erasedLine) (err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	list = slices.DeleteFunc(list, func(x erasedLine) bool { return l.has(&x) })
	for _, f := range l.folders {
		err = errors.Join(err, appendErased(f, list))
	}
	for _, x := range list {
		if l.lines != nil {
			l.lines[x.Change] = append(l.lines[x.Change], x)
		}
	}
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnlisted, err)
	}
	return nil
}

// EraseAgain erases what is listed as erased but is here again, because an older copy was restored
// or somebody pushed the original change again. It looks at changes of the given records, or of all
// listed ones if none is given.
//
// Gives: how many records had any of it.
func (o *Office) EraseAgain(ctx context.Context, records ...string) (n int, err error) {
	if o.writer.seal.off {
		return 0, nil
	}
	for _, r := range o.erased.of(records) {
		err := o.eraseListed(ctx, r)
		switch {
		case err == nil:
			n++
		case errors.Is(err, fs.ErrNotExist) || errors.Is(err, plant.ErrNotFound):
			// none of it is here
		default:
			return n, err
		}
	}
	return n, nil
}

// of returns the lines of some records, by record; of all if none is given.
func (l *erasedLists) of(records []string) [][]erasedLine {
	l.mu.Lock()
	defer l.mu.Unlock()
	by := map[string][]erasedLine{}
	for _, lines := range l.lines {
		for _, x := range lines {
			if len(records) == 0 || slices.Contains(records, x.Record) {
				by[x.Record] = append(by[x.Record], x)
			}
		}
	}
	out := make([][]erasedLine, 0, len(by))
	for _, lines := range by {
		out = append(out, lines)
	}
	return out
}

// withErased returns the records of those changes that are listed with erased values.
func (o *Office) withErased(changes []change.Change) (records []string) {
	o.erased.mu.Lock()
	defer o.erased.mu.Unlock()
	for i := range changes {
		if _, is := o.erased.lines[changes[i].ID]; is && !slices.Contains(records, changes[i].Record) {
			records = append(records, changes[i].Record)
		}
	}
	return records
}

// eraseListed erases what lines of one record list.
func (o *Office) eraseListed(ctx context.Context, lines []erasedLine) error {
	first := &lines[0]
	fields := map[string][]string{}
	for _, x := range lines {
		fields[x.Change] = append(fields[x.Change], x.Fields...)
	}
	return o.erase(
		ctx, first.By, first.Kind, first.Record, first.Why,
		func(c *change.Change) []string { return fields[c.ID] },
		store.Noting(store.Event{
			Kind: "values_erased_again", Detail: first.Kind + " " + first.Record, By: first.By,
		}),
	)
}

// EraseArrived erases what is listed as erased from changes that have just arrived.
func (o *Office) EraseArrived(ctx context.Context, changes []change.Change) error {
	records := o.withErased(changes)
	if len(records) == 0 {
		return nil
	}
	_, err := o.EraseAgain(ctx, records...)
	return err
}

// linesOf returns the lines that list an erasure.
func linesOf(kind, record string, set []plant.Set) (list []erasedLine) {
	for _, s := range set {
		e, ok := s.Value.(*store.Erasure)
		if !ok || merge.Erases(s.Field) == "" {
			continue
		}
		one := erasedLine{Kind: kind, Record: record, Change: e.Change, By: e.By, At: e.At, Why: e.Why}
		for _, v := range e.Values {
			one.Fields = append(one.Fields, v.Field)
		}
		list = append(list, one)
	}
	return list
}

func readErased(path string) (list []erasedLine, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close() // opened for reading only
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		var x erasedLine
		if err := json.Unmarshal(lines.Bytes(), &x); err != nil || x.Change == "" || len(x.Fields) == 0 {
			return nil, fmt.Errorf("%s: line %d is no erasure: %w", path, n, errors.Join(err, errLine))
		}
		list = append(list, x)
	}
	return list, lines.Err()
}

var errLine = errors.New("it needs a change and its fields")

func appendErased(folder string, list []erasedLine) (err error) {
	if len(list) == 0 {
		return nil
	}
	path := filepath.Join(folder, ErasedList)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	to := json.NewEncoder(w)
	for i := range list {
		err = errors.Join(err, to.Encode(&list[i]))
	}
	return errors.Join(err, w.Flush(), f.Sync(), f.Close(), store.SyncFolder(folder))
}
