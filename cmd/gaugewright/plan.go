package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"gaugewright/calc"
	"gaugewright/calc/programme"
)

// plan checks the programmes of files.
func plan(args []string, in io.Reader, out, warn io.Writer) error {
	if len(args) == 0 || args[0] != "check" {
		return errors.New("plan check [--with FACTS.json] FILE…")
	}
	f := flag.NewFlagSet("plan check [--with FACTS.json] FILE…", flag.ContinueOnError)
	f.SetOutput(warn)
	with := f.String("with", "", "what the programmes are held against: a document of room plan without the programme (gaugewright calc plan --schema)")
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if f.NArg() == 0 {
		return errors.New("name one file or more, after the options")
	}
	facts := map[string]json.RawMessage{}
	if *with != "" {
		b, err := os.ReadFile(*with)
		if err != nil {
			return err
		}
		if err := json.Unmarshal(b, &facts); err != nil {
			return fmt.Errorf("%s: %w", *with, err)
		}
		if _, ok := facts["programme"]; ok {
			return fmt.Errorf("%s: the programmes are read from their own files", *with)
		}
	}
	bad := false
	for _, name := range f.Args() {
		errorsIn, err := checkFile(name, facts, out)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		bad = bad || errorsIn
	}
	if bad {
		return errRefused
	}
	return nil
}

// checkFile writes the findings of one file, and says whether one is an error.
func checkFile(name string, facts map[string]json.RawMessage, out io.Writer) (bad bool, err error) {
	text, err := readMost(name, programme.MaxBytes)
	if err != nil {
		return false, err
	}
	facts["programme"], err = json.Marshal(string(text))
	if err != nil {
		return false, err
	}
	doc, err := json.Marshal(facts)
	if err != nil {
		return false, err
	}
	var reply struct {
		Error    *struct{ Field, Message string }
		Findings []struct {
			Level, Code, Message string
			Line                 int
		}
	}
	if err := json.Unmarshal(calc.Call("plan", doc), &reply); err != nil {
		return false, err
	}
	if reply.Error != nil {
		return false, fmt.Errorf("%s: %s", reply.Error.Field, reply.Error.Message)
	}
	for _, f := range reply.Findings {
		bad = bad || f.Level == "error"
		if _, err := fmt.Fprintf(out, "%s:%d: %s %s %s\n", name, f.Line, f.Level, f.Code, f.Message); err != nil {
			return bad, err
		}
	}
	return bad, nil
}

// readMost reads a file of text, at most one byte beyond a bound, so that what is too long is refused and not cut.
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
