package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"gaugewright/sync/store"
)

// figure is a row of the table: what was measured of one company.
type figure struct{ name, goal, value string }

// measure serves each folder with the program and prints a table with a column for each.
func measure(ctx context.Context, args []string, out io.Writer) error {
	f := flag.NewFlagSet("measure", flag.ContinueOnError)
	program := f.String("program", "bin/gaugewright", "the program to measure")
	word := f.String("password", password, "of the accounts")
	day := f.String("today", madeFor, "the day on which the companies stand")
	lookback := f.Bool("lookback", true, "look back over the standard with the most visits")
	backup := f.Bool("backup", true, "take a backup while a phone writes")
	if err := f.Parse(args); err != nil {
		return err
	}
	if f.NArg() == 0 {
		return errors.New("name the folders, the smallest first")
	}
	var columns [][]figure
	for _, dir := range f.Args() {
		m := measuring{dir: dir, program: *program, word: *word, day: *day}
		if err := m.run(ctx, *lookback, *backup); err != nil {
			return fmt.Errorf("%s: %w", dir, err)
		}
		columns = append(columns, m.figures)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i, x := range columns[0] {
		fmt.Fprintf(w, "%s\t%s", x.name, x.goal)
		for _, c := range columns {
			fmt.Fprint(w, "\t", c[i].value)
		}
		fmt.Fprintln(w)
	}
	return w.Flush()
}

// measuring measures one company.
type measuring struct {
	dir, program, word, day string
	office, phone, machine  *client
	served                  *served
	figures                 []figure
}

func (m *measuring) say(name, goal, form string, values ...any) {
	value := fmt.Sprintf(form, values...)
	fmt.Fprintln(os.Stderr, m.dir, name, value)
	m.figures = append(m.figures, figure{name, goal, value})
}

// pages are the pages that the office opens.
var pages = []struct{ name, goal, path string }{
	{"register, first page", "100 ms", "/api/office/table"},
	{"register, filtered, by due date", "100 ms", "/api/office/table?status=in+service&verdict=fail&sort=due"},
	{"register, by area, page 20", "100 ms", "/api/office/table?sort=area&from=1900"},
	{"search for words", "100 ms", "/api/office/table?q=header+steam"},
	{"search for a tag", "100 ms", "/api/office/table?q=s01pi00012"},
	{"search with a slip", "", "/api/office/table?q=heaedr"},
	{"day", "", "/api/office/day?date=DAY"},
	{"queue", "", "/api/office/queue"},
	{"state of the plant", "", "/api/office/state"},
	{"figures", "", "/api/office/figures"},
	{"standards", "", "/api/office/standards"},
	{"year of work", "", "/api/office/planning"},
	{"board of a week", "", "/api/office/board?date=DAY"},
	{"advice on intervals", "", "/api/office/advice?action=reduce&most=100"},
	{"tests behind a rate", "", "/api/office/figures/tests?by=kind&value=gauge&out=1"},
	{"machines: 200 instruments", "", machinePath + "instruments?limit=200"},
	{"machines: overdue by a day", "", machinePath + "due?by=DAY&limit=200"},
	{"machines: 200 visits", "", machinePath + "visits?limit=200"},
	{"machines: visits of an order", "", machinePath + "visits?order=none&limit=200"},
	{"machines: 200 certificates", "", machinePath + "certificates?limit=200"},
	{"machines: standards", "", machinePath + "standards?limit=200"},
}

const machinePath = "/api/v1/"

// get asks for a page, as a person or as another system.
func (m *measuring) get(path string) (time.Duration, error) {
	path = strings.ReplaceAll(path, "DAY", m.day)
	if strings.HasPrefix(path, machinePath) {
		return m.machine.get(path)
	}
	return m.office.get(path)
}

func (m *measuring) run(ctx context.Context, lookback, backup bool) (err error) {
	size, err := m.contents()
	if err != nil {
		return err
	}
	m.say("folder", "", "%.0f MB", float64(size)/1e6)
	if m.served, err = serve(ctx, m.program, m.dir); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, m.served.end()) }()
	m.say("start to the first answer", "1 s", "%s", short(m.served.started))
	if err := m.logIn(); err != nil {
		return err
	}
	// A folder that was made elsewhere is read once.
	took, most, err := m.first(ctx)
	if err != nil {
		return err
	}
	m.say("first reading of a folder made elsewhere, memory", "", "%s, %d MB", short(took), most>>20)
	if took, most, err = m.served.calm(ctx); err != nil {
		return err
	}
	m.say("  what goes on behind it, memory", "", "%s, %d MB", short(took), most>>20)
	if m.served, err = m.served.again(ctx); err != nil {
		return err
	}
	m.say("start again", "1 s", "%s", short(m.served.started))
	if err := m.logIn(); err != nil {
		return err
	}
	if took, err = m.get(pages[0].path); err != nil {
		return err
	}
	m.say("register, first page after a start", "", "%s", short(took))
	if _, err := m.get("/api/office/figures"); err != nil {
		return err
	}
	if took, most, err = m.served.calm(ctx); err != nil {
		return err
	}
	m.say("figures: all past tests read, memory", "", "%s, %d MB", short(took), most>>20)
	for _, p := range pages {
		var list []time.Duration
		first := time.Duration(0)
		for i := range 6 {
			took, err := m.get(p.path)
			if err != nil {
				return fmt.Errorf("%s: %w", p.name, err)
			}
			if i == 0 {
				first = took
				continue
			}
			list = append(list, took)
		}
		m.say(p.name, p.goal, "%s (first %s)", short(middle(list)), short(first))
	}
	pushes, err := m.phone.push(ctx, 60, 0, nil)
	if err != nil {
		return err
	}
	m.say("push of a visit, middle and longest of 60", "", "%s, %s", short(middle(pushes)), short(slices.Max(pushes)))
	var after []time.Duration
	for range 5 {
		if _, err := m.phone.push(ctx, 1, 0, nil); err != nil {
			return err
		}
		took, err := m.get(pages[1].path)
		if err != nil {
			return err
		}
		after = append(after, took)
	}
	m.say("register, by due date, after a push", "100 ms", "%s", short(middle(after)))
	own, all, err := m.served.memory()
	if err != nil {
		return err
	}
	m.say("memory, its own", "500 MB", "%d MB", own>>20)
	m.say("memory with pages of the database", "", "%d MB", all>>20)
	if lookback {
		if err := m.lookback(ctx); err != nil {
			return err
		}
	}
	if backup {
		if err := m.backup(ctx); err != nil {
			return err
		}
	}
	own, _, err = m.served.memory()
	m.say("memory, its own, at the end", "500 MB", "%d MB", own>>20)
	return err
}

func (m *measuring) logIn() (err error) {
	if m.office, err = m.served.logIn("aldo.arnvik", m.word); err != nil {
		return err
	}
	if m.phone, err = m.served.logIn("corvin.castrel", m.word); err != nil {
		return err
	}
	m.machine, err = m.office.system()
	return err
}

// contents returns what a folder holds, and its size.
func (m *measuring) contents() (size int64, err error) {
	info, err := os.Stat(filepath.Join(m.dir, store.File))
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// lookback runs a look-back over the standard that most of a site's gauges are tested with.
// Meanwhile it fetches the look-back's progress and a page of the register.
func (m *measuring) lookback(ctx context.Context) error {
	var list struct {
		Standards []struct {
			ID, Name string
			Ranges   []json.RawMessage
		}
	}
	if err := m.office.read("/api/office/standards", &list); err != nil {
		return err
	}
	for _, s := range list.Standards {
		if s.Name != "Field kit A" {
			continue
		}
		in, err := json.Marshal(map[string]any{
			"range": s.Ranges[len(s.Ranges)-1], "since": "2020-01-01", "reason": "it was found to be out",
			"after": []map[string]string{
				{"applied": "-1", "error": "0", "expanded": "0.003", "k": "2"},
				{"applied": "20", "error": "0.2", "expanded": "0.003", "k": "2"},
			},
		})
		if err != nil {
			return err
		}
		return m.lookBack(ctx, s.ID, in)
	}
	return errors.New("no standard is a Field kit A")
}

func (m *measuring) lookBack(ctx context.Context, standard string, question []byte) error {
	began := time.Now()
	b, err := m.office.ask("POST", "/api/office/standards/"+standard+"/lookbacks", question)
	if err != nil {
		return err
	}
	answered := time.Since(began)
	var opened struct{ ID string }
	if err := json.Unmarshal(b, &opened); err != nil {
		return err
	}
	var pages []time.Duration
	seen := map[int]bool{}
	for {
		var now struct {
			Row struct {
				Progress struct {
					State, Error string
					Done, Of     int
				}
				Found struct{ Runs, Faults int }
			}
		}
		if err := m.office.read("/api/office/lookbacks/"+opened.ID, &now); err != nil {
			return err
		}
		p := now.Row.Progress
		seen[p.Done] = true
		switch p.State {
		case "failed":
			return errors.New(p.Error)
		case "done":
			m.say("look-back: visits, judged results", "5,000", "%d, %d", p.Of, now.Row.Found.Runs)
			m.say("look-back: answered, done, words on the progress", "", "%s, %s, %d", short(answered), short(time.Since(began)), len(seen))
			if len(pages) == 0 {
				pages = []time.Duration{0}
			}
			m.say("register meanwhile, middle and longest", "", "%s, %s", short(middle(pages)), short(slices.Max(pages)))
			return nil
		}
		took, err := m.office.get("/api/office/table")
		if err != nil {
			return err
		}
		pages = append(pages, took)
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// backup takes a backup while a phone writes, and returns how long the phone waited at most.
func (m *measuring) backup(ctx context.Context) error {
	writing, stop := context.WithCancel(ctx)
	type outcome struct {
		list []time.Duration
		err  error
	}
	done := make(chan outcome, 1)
	go func() {
		list, err := m.phone.push(ctx, 1<<30, 250*time.Millisecond, writing.Done())
		done <- outcome{list, err}
	}()
	began := time.Now()
	n, err := m.office.backup()
	took := time.Since(began)
	stop()
	pushed := <-done
	if err := errors.Join(err, pushed.err); err != nil {
		return err
	}
	m.say("backup while a phone writes", "", "%s, %.0f MB", short(took), float64(n)/1e6)
	m.say("push meanwhile, middle and longest", "", "%s, %s", short(middle(pushed.list)), short(slices.Max(pushed.list)))
	return nil
}

func middle(list []time.Duration) time.Duration {
	list = slices.Sorted(slices.Values(list))
	return list[len(list)/2]
}

func short(d time.Duration) string {
	switch {
	case d < 10*time.Millisecond:
		return d.Round(100 * time.Microsecond).String()
	case d < time.Second:
		return d.Round(time.Millisecond).String()
	}
	return d.Round(10 * time.Millisecond).String()
}
