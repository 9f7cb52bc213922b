package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc"
	"gaugewright/calc/programme"
)

const planUsage = "plan check [options] FILE|FOLDER…"

// plan checks the programmes of files and folders.
func plan(args []string, in io.Reader, out, warn io.Writer) error {
	if len(args) == 0 || args[0] != "check" {
		return errors.New(planUsage)
	}
	f := flag.NewFlagSet(planUsage, flag.ContinueOnError)
	f.SetOutput(warn)
	limits := limitFlags(f)
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if f.NArg() == 0 {
		return errors.New("name one file or folder, or more, after the options")
	}
	facts, err := limits.facts()
	if err != nil {
		return err
	}
	files, err := programmesOf(f.Args())
	if err != nil {
		return err
	}
	var all tally
	for _, one := range files {
		if err := all.check(one, facts, out); err != nil {
			return fmt.Errorf("%s: %w", one.path, err)
		}
	}
	if _, err := fmt.Fprintf(out, "%s checked: %s, %s\n", counted(len(files), "programme"), counted(all.errors, "error"), counted(all.warnings, "warning")); err != nil {
		return err
	}
	if all.errors > 0 {
		return errRefused
	}
	return nil
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// limits are the command line's limits for checking programmes.
type limits struct {
	with, unit, mode, volume                string
	instrument, instrumentRate, vacuum      string
	standard, standardRate                  string
	weakest, weakestPart, relief, beginning string
}

func limitFlags(f *flag.FlagSet) *limits {
	l := &limits{}
	f.StringVar(&l.with, "with", "", "a file with what the programmes are checked against: a document of calculation plan without the programme (gaugewright calc plan --schema)")
	f.StringVar(&l.unit, "unit", "", "what the pressures of the options below are in, such as kPa; a programme in another unit is checked against them all the same")
	f.StringVar(&l.mode, "mode", "", "gauge or absolute, of the same")
	f.StringVar(&l.instrument, "instrument", "", "the instrument's range, such as 0..1000")
	f.StringVar(&l.instrumentRate, "instrument-rate", "", "the fastest change that the instrument bears, per second")
	f.StringVar(&l.vacuum, "vacuum", "", "yes or no: the instrument allows a vacuum (without it: what its range says)")
	f.StringVar(&l.standard, "standard", "", "the standard's range, such as 0..700")
	f.StringVar(&l.standardRate, "standard-rate", "", "the fastest change that the standard bears, per second")
	f.StringVar(&l.weakest, "weakest", "", "the pressure that the weakest part withstands")
	f.StringVar(&l.weakestPart, "weakest-part", "the weakest part", "which part that is")
	f.StringVar(&l.relief, "relief", "", "the pressure at which the relief valve opens")
	f.StringVar(&l.volume, "volume-m3", "", "the volume of gas, for the energy that is stored")
	f.StringVar(&l.beginning, "start", "", "vented or unknown: how the system stands as a programme begins")
	return l
}

// facts gives the document of the calculation plan without its programme. An option overrides the
// file.
func (l *limits) facts() (map[string]any, error) {
	facts := map[string]any{}
	if l.with != "" {
		b, err := os.ReadFile(l.with)
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(b, &facts); err != nil {
			return nil, fmt.Errorf("%s: %w", l.with, err)
		}
		if facts["programme"] != nil || facts["expansion"] != nil {
			return nil, fmt.Errorf("%s: the programmes are read from their own files", l.with)
		}
	}
	for _, s := range []string{l.instrument, l.standard, l.weakest, l.relief} {
		if s != "" && l.unit == "" {
			return nil, errors.New("say with --unit what the pressures are in")
		}
	}
	put := func(name, value string, o map[string]any) {
		if value != "" {
			o[name] = value
		}
	}
	amount := func() map[string]any {
		o := map[string]any{"unit": l.unit}
		put("mode", l.mode, o)
		return o
	}
	for _, r := range []struct{ name, span, rate, vacuum string }{{"instrument", l.instrument, l.instrumentRate, l.vacuum}, {"standard", l.standard, l.standardRate, ""}} {
		if r.span == "" {
			if r.rate != "" || r.vacuum != "" {
				return nil, fmt.Errorf("--%s is missing: its range, such as 0..1000", r.name)
			}
			continue
		}
		low, high, ok := strings.Cut(r.span, "..")
		if !ok {
			return nil, fmt.Errorf("--%s: %q is no range: write it as 0..1000", r.name, r.span)
		}
		o := amount()
		o["low"], o["high"] = low, high
		put("max_rate", r.rate, o)
		if r.vacuum != "" {
			if r.vacuum != "yes" && r.vacuum != "no" {
				return nil, fmt.Errorf("--vacuum: %q is neither yes nor no", r.vacuum)
			}
			o["allows_vacuum"] = r.vacuum == "yes"
		}
		facts[r.name] = o
	}
	if l.weakest != "" {
		o := amount()
		o["pressure"], o["part"] = l.weakest, l.weakestPart
		facts["weakest"] = o
	}
	if l.relief != "" {
		o := amount()
		o["pressure"] = l.relief
		facts["relief"] = o
	}
	put("volume_m3", l.volume, facts)
	put("start", l.beginning, facts)
	return facts, nil
}

// programmeFile is a file with a programme, as text or as a shared method.
type programmeFile struct {
	path   string
	method map[string]any // "text" or "steps", perhaps "unit", "mode" and "rules"
	fault  string         // why it cannot be read as one
}

// programmesOf reads the named files and those of the named folders, in the order of their names.
func programmesOf(paths []string) ([]programmeFile, error) {
	var list []programmeFile
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return nil, err
		}
		if !info.IsDir() {
			one, ok, err := readProgrammeFile(path)
			if err != nil {
				return nil, err
			}
			if !ok {
				return nil, fmt.Errorf("%s holds no programme", path)
			}
			list = append(list, one)
			continue
		}
		before := len(list)
		err = filepath.WalkDir(path, func(name string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case d.IsDir() && name != path && strings.HasPrefix(d.Name(), "."):
				return filepath.SkipDir
			case d.IsDir() || !slices.Contains([]string{".txt", ".json"}, strings.ToLower(filepath.Ext(name))):
				return nil
			}
			one, ok, err := readProgrammeFile(name)
			if ok {
				list = append(list, one)
			}
			return err
		})
		if err != nil {
			return nil, err
		}
		if len(list) == before {
			return nil, fmt.Errorf("%s: no programme lies in this folder (names ending in .txt or .json)", path)
		}
	}
	return list, nil
}

// readProgrammeFile reads a text, or the JSON of a shared programme, a method or a list of steps.
// ok is false for any other JSON.
func readProgrammeFile(path string) (one programmeFile, ok bool, err error) {
	one.path = path
	if !strings.EqualFold(filepath.Ext(path), ".json") {
		text, err := readMost(path, programme.MaxBytes)
		one.method = map[string]any{"text": string(text)}
		return one, err == nil, err
	}
	const most = 8 * programme.MaxBytes // steps as JSON take about six times the space of their text
	b, err := readMost(path, most)
	if err != nil {
		return one, false, err
	}
	if len(b) > most {
		one.fault = "it is longer than any programme"
		return one, true, nil
	}
	var v any
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		one.fault = "it is not JSON: " + err.Error()
		return one, true, nil
	}
	switch v := v.(type) {
	case []any:
		one.method = map[string]any{"steps": v}
		return one, true, nil
	case map[string]any:
		if inside, is := v["definition"].(map[string]any); is && v["gaugewright"] == "programme" {
			v = inside
		}
		one.method = v
		return one, v["kind"] == "programme", nil
	}
	return one, false, nil
}

// tally counts what was found.
type tally struct{ errors, warnings int }

// check writes the findings of one file. Line numbers count in the text form; for steps in JSON, in
// the text that they make.
func (t *tally) check(one programmeFile, facts map[string]any, out io.Writer) error {
	found := func(line int, level, message, code string) error {
		if level == "error" {
			t.errors++
		} else {
			t.warnings++
		}
		_, err := fmt.Fprintf(out, "%s:%d: %s: %s [%s]\n", one.path, line, level, message, code)
		return err
	}
	if one.fault != "" {
		return found(1, "error", one.fault, "syntax")
	}
	doc := map[string]any{}
	for k, v := range facts {
		doc[k] = v
	}
	for _, name := range []string{"unit", "mode"} {
		if v, said := one.method[name]; said && doc[name] == nil {
			doc[name] = v
		}
	}
	doc["programme"] = one.method["text"]
	if steps, listed := one.method["steps"]; listed {
		doc["programme"] = steps
	}
	var reply struct {
		Error    *struct{ Code, Field, Message string }
		Findings []struct {
			Level, Code, Message string
			Line                 int
		}
	}
	if err := ask("plan", doc, &reply); err != nil {
		return err
	}
	if reply.Error != nil {
		if !strings.HasPrefix(reply.Error.Field, "programme") { // the limits are wrong, for every programme
			return fmt.Errorf("%s: %s", reply.Error.Field, reply.Error.Message)
		}
		return found(1, "error", reply.Error.Field+": "+reply.Error.Message, reply.Error.Code)
	}
	for _, f := range reply.Findings {
		if err := found(f.Line, f.Level, f.Message, f.Code); err != nil {
			return err
		}
	}
	if one.method["kind"] == nil {
		return nil
	}
	// The rules, which judge values later.
	broad := map[string]any{"low": -1e6, "high": 1e6, "unit": "bar"}
	if err := ask("evaluate", map[string]any{"method": one.method, "instrument": broad, "captures": []any{}, "complete": false}, &reply); err != nil {
		return err
	}
	if e := reply.Error; e != nil && strings.HasPrefix(e.Field, "method.rules") {
		return found(1, "error", e.Field+": "+e.Message, e.Code)
	}
	return nil
}

func ask(calculation string, doc, reply any) error {
	b, err := json.Marshal(doc)
	if err != nil {
		return err
	}
	return json.Unmarshal(calc.Call(calculation, b), reply)
}

// readMost reads a text file, at most one byte beyond a bound, so that a file that is too long is
// refused and not cut.
func readMost(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err := errors.Join(err, f.Close()); err != nil {
		return nil, err
	}
	return bytes.TrimPrefix(b, []byte("\xEF\xBB\xBF")), nil
}
