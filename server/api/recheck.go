package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"sync"

	"github.com/labstack/echo/v4"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

// recheck calculates the findings anew that some changes brought, from what is recorded, and notes on the visit where they are not the same. A finding that has come
// right since is noted as well.
func (s *server) recheck(ctx context.Context, list []change.Change) error {
	var all error
	for i := range list {
		c := &list[i]
		if c.Kind != "run" || !slices.ContainsFunc(c.Set, func(x change.Setting) bool { return x.Field == "finding" }) {
			continue
		}
		if err := s.recheckRun(ctx, c.Record); err != nil {
			all = errors.Join(all, fmt.Errorf("run %s could not be calculated anew: %w", c.Record, err))
		}
	}
	return all
}

// awaited are the runs that wait for the record of a logger to be calculated anew; it arrives after what tells of it. After a new start
// they are known again when they are looked at for approval.
type awaited struct {
	mu   sync.Mutex
	runs map[string][]string // by the record's SHA-256
}

func (a *awaited) wait(sha256, run string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.runs == nil {
		a.runs = map[string][]string{}
	}
	if !slices.Contains(a.runs[sha256], run) {
		a.runs[sha256] = append(a.runs[sha256], run)
	}
}

// arrived calculates anew what waited for a blob.
func (s *server) arrived(c echo.Context, sha256 string) {
	s.traces.mu.Lock()
	runs := s.traces.runs[sha256]
	delete(s.traces.runs, sha256)
	s.traces.mu.Unlock()
	for _, id := range runs {
		if err := s.recheckRun(c.Request().Context(), id); err != nil {
			c.Logger().Error(err) // the blob is kept all the same
		}
	}
}

// recheckTraces calculates anew the runs of a visit that rest on records of loggers, and says whether one of these has not arrived.
func (s *server) recheckTraces(ctx context.Context, runs []plant.Run) (away bool, err error) {
	for i := range runs {
		for _, name := range runs[i].Records() {
			here, err := s.Store.HasBlob(name)
			if err != nil {
				return away, err
			}
			away = away || !here
		}
		if len(runs[i].Records()) > 0 {
			if err := s.recheckRun(ctx, runs[i].ID); err != nil {
				return away, err
			}
		}
	}
	return away, nil
}

func (s *server) recheckRun(ctx context.Context, id string) error {
	state, err := s.record(id)
	if err != nil {
		return err
	}
	run, err := plant.ReadRun(state)
	if err != nil || run.Finding == nil {
		return err
	}
	v, err := plant.LoadVisit(s.Store, run.Parent)
	if err != nil {
		return err
	}
	sheet, err := v.Sheet(&run, run.Stopped == "")
	if away := (*plant.TraceError)(nil); errors.As(err, &away) {
		s.traces.wait(away.SHA256, id)
		return nil
	}
	if err != nil {
		return err
	}
	note, err := differs(run.Finding.Raw, calc.Call("evaluate", sheet))
	if err != nil {
		return err
	}
	field := "check." + run.ID
	return s.desk.write(ctx, "", func(p *plant.Pen) ([]change.Change, error) {
		visit, err := s.record(v.ID)
		if err != nil {
			return nil, err
		}
		if _, noted := visit.Field(field); note == "" && !noted {
			return nil, nil
		}
		one, _, err := p.Edit(visit, s.Now(), plant.Set{Field: field, Value: map[string]any{"ok": note == "", "calc": calc.Version, "note": note}})
		return []change.Change{one}, err
	})
}

// differs says where two findings are not the same to the last bit of every number, or "". The version that made them may differ: its numbers may not.
func differs(kept, anew []byte) (string, error) {
	var documents [2]any
	var versions [2]any
	for i, b := range [][]byte{kept, anew} {
		d := json.NewDecoder(bytes.NewReader(b))
		d.UseNumber()
		if err := d.Decode(&documents[i]); err != nil {
			return "", err
		}
		if o, ok := documents[i].(map[string]any); ok {
			versions[i] = o["calc"]
			delete(o, "calc")
		}
	}
	if versions[0] != versions[1] {
		documents[1] = known(documents[0], documents[1])
	}
	return difference("", documents[0], documents[1]), nil
}

// known leaves out of a JSON value the fields that an older one does not have: a later version says more.
func known(older, value any) any {
	switch o := older.(type) {
	case map[string]any:
		v, ok := value.(map[string]any)
		if !ok {
			break
		}
		for name := range v {
			if _, had := o[name]; !had {
				delete(v, name)
				continue
			}
			v[name] = known(o[name], v[name])
		}
	case []any:
		if v, ok := value.([]any); ok && len(v) == len(o) {
			for i := range v {
				v[i] = known(o[i], v[i])
			}
		}
	}
	return value
}

// difference names the first place, in the order of names, where two JSON values differ.
func difference(at string, kept, anew any) string {
	switch k := kept.(type) {
	case map[string]any:
		a, ok := anew.(map[string]any)
		if !ok {
			break
		}
		for _, name := range slices.Sorted(maps.Keys(k)) {
			if d := difference(at+"."+name, k[name], a[name]); d != "" {
				return d
			}
		}
		for _, name := range slices.Sorted(maps.Keys(a)) {
			if _, ok := k[name]; !ok && a[name] != nil {
				return difference(at+"."+name, nil, a[name])
			}
		}
		return ""
	case []any:
		a, ok := anew.([]any)
		if !ok || len(a) != len(k) {
			break
		}
		for i := range k {
			if d := difference(at+"."+strconv.Itoa(i+1), k[i], a[i]); d != "" {
				return d
			}
		}
		return ""
	case json.Number:
		a, ok := anew.(json.Number)
		if !ok {
			break
		}
		x, errX := k.Float64() // a phone may write the same number with other digits
		y, errY := a.Float64()
		if errX == nil && errY == nil && x == y {
			return ""
		}
	default:
		if reflect.DeepEqual(kept, anew) {
			return ""
		}
	}
	return fmt.Sprintf("%s: recorded %s, calculated anew %s", at[min(1, len(at)):], brief(kept), brief(anew))
}

func brief(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "?"
	}
	const most = 60
	if len(b) > most {
		return string(bytes.ToValidUTF8(b[:most], nil)) + " …"
	}
	return string(b)
}
