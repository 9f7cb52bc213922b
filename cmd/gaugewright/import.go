package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// pairs is a flag that may be given several times, each time NAME=VALUE.
type pairs map[string]string

func (p pairs) String() string { return "" }

func (p pairs) Set(s string) error {
	name, value, ok := strings.Cut(s, "=")
	if !ok || name == "" {
		return fmt.Errorf("%q is not NAME=VALUE", s)
	}
	p[name] = value
	return nil
}

// readAs is a flag that may be given several times, each time FIELD:CELL=VALUE.
type readAs map[string]map[string]string

func (p readAs) String() string { return "" }

func (p readAs) Set(s string) error {
	field, rest, ok := strings.Cut(s, ":")
	i := strings.LastIndex(rest, "=")
	if !ok || i < 1 || !slices.Contains(register.FieldNames(), field) {
		return fmt.Errorf("%q is not FIELD:CELL=VALUE", s)
	}
	if p[field] == nil {
		p[field] = map[string]string{}
	}
	p[field][rest[:i]] = rest[i+1:]
	return nil
}

func importRegister(args []string, in io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("import --data DIR [options] register.csv|EXPORT", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	o := register.Options{Map: pairs{}, Set: pairs{}, Values: map[string]map[string]string{}}
	f.Var(
		pairs(o.Map), "map",
		"HEADING=FIELD for a heading that is not understood; HEADING= leaves a column out; the fields stand below",
	)
	f.Var(pairs(o.Set), "set", "FIELD=VALUE for rows whose cell is empty")
	delimiter := f.String("delimiter", "", "comma, semicolon or tab; found from the header if not given")
	f.StringVar(&o.Decimal, "decimal", "", "comma or point; found from the numbers if not given")
	f.StringVar(&o.Dates, "dates", "", "dmy or mdy, for dates with slashes")
	f.BoolVar(&o.NewSites, "new-sites", false, "make sites whose code is not known")
	f.IntVar(&o.Header, "header-line", 0, "the line with the headings; found if not given")
	f.Var(
		readAs(o.Values), "value",
		"FIELD:CELL=VALUE reads cells with this text as another one, such as due:soon=2027-03-01",
	)
	f.BoolVar(
		&o.Update, "update", false, "change instruments that are here already, field by field; the report says what",
	)
	f.StringVar(&o.Twice, "twice", "", "first or last: which of several rows with one tag is taken; none if not given")
	f.StringVar(
		&o.Serials, "serials", "",
		"with --update: correct or exchange, where a tag is here with another serial number",
	)
	f.StringVar(&o.Moved, "moved", "", "with --update: move or new, where a serial number is here under another tag")
	past := f.Bool("results", false, "the file is a sheet of past results; its columns stand below")
	papers := f.String("files", "", "with --results: the folder of the certificates that the sheet names")
	writing := f.Bool("write", false, "write; without it, only the report")
	skip := f.String(
		"skip-bad", "",
		"with --write: write the good rows and put the others into this file, which must not be there yet",
	)
	quiet := f.Bool("bad-only", false, "report only the rows that are not good")
	user := f.String("user", "", "the account in whose name it is written; not needed where there is one administrator")
	f.Usage = func() {
		say := func(text string) { _, _ = io.WriteString(warn, text) } // a failure to print help is nobody's fault
		say("Usage of " + f.Name() + ":\n")
		f.PrintDefaults()
		say("\nFields, which are headings too; the case of letters and all signs but letters and digits are not looked at:\n" + register.FieldHelp())
		say("\nColumns of a sheet of past results (--results), a row for each point of a test:\n" + register.ResultHelp())
	}
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	marks := map[string]rune{"": 0, "comma": ',', "semicolon": ';', "tab": '\t'}
	mark, ok := marks[*delimiter]
	switch {
	case at.named() != nil:
		return at.named()
	case f.NArg() != 1:
		return errors.New("name one file, after the options")
	case !ok:
		return fmt.Errorf("--delimiter %q: comma, semicolon or tab", *delimiter)
	case !slices.Contains([]string{"", "first", "last"}, o.Twice):
		return fmt.Errorf("--twice %q: first or last", o.Twice)
	case !slices.Contains([]string{"", "correct", "exchange"}, o.Serials):
		return fmt.Errorf("--serials %q: correct or exchange", o.Serials)
	case !slices.Contains([]string{"", "move", "new"}, o.Moved):
		return fmt.Errorf("--moved %q: move or new", o.Moved)
	case (o.Serials != "" || o.Moved != "") && !o.Update:
		return errors.New("--serials and --moved go with --update")
	case *papers != "" && !*past:
		return errors.New("--files goes with --results")
	case *past && *skip != "":
		return errors.New("--skip-bad goes with a register: bad tests of a sheet are named and left out")
	case *skip != "" && !*writing:
		return errors.New("--skip-bad goes with --write")
	}
	if dir, done, err := exported(f.Arg(0)); err != nil || dir != nil {
		if err == nil {
			err = errors.Join(bring(at, dir, *writing, out), done())
		}
		return err
	}
	o.Delimiter = mark
	b, err := os.ReadFile(f.Arg(0))
	if err != nil {
		return err
	}
	if *past {
		return importResults(at, f.Arg(0), b, o, *papers, intake{*writing, *skip, *quiet, *user}, out)
	}
	r, err := register.Read(b, o)
	if err != nil {
		return err
	}
	if _, err := os.Stat(at.data); err != nil {
		return fmt.Errorf("the data folder: %w", err)
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	err = takeIn(s, r, o, intake{*writing, *skip, *quiet, *user}, out)
	return errors.Join(err, s.Close())
}

type intake struct {
	write bool
	skip  string
	quiet bool
	user  string
}

func takeIn(s *store.Store, r *register.Register, o register.Options, how intake, out io.Writer) error {
	if err := r.Check(s, o.NewSites); err != nil {
		return err
	}
	if err := r.Report(out, !how.quiet); err != nil {
		return err
	}
	bad := r.Bad()
	switch {
	case !how.write && bad > 0:
		return errRefused // the report has said why
	case !how.write:
		_, err := fmt.Fprintln(out, "nothing was written; with --write it is")
		return err
	case bad > 0 && how.skip == "":
		return fmt.Errorf("%w, so nothing was written; --skip-bad FILE writes the others", register.ErrBadRows)
	}
	author, err := writer(s, how.user)
	if err != nil {
		return err
	}
	device, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	count, err := plant.HighestCount(s)
	if err != nil {
		return err
	}
	list, err := r.Changes(&plant.Drafter{Device: device, Author: author, Count: count, Random: rand.Reader}, time.Now())
	if err != nil {
		return err
	}
	if bad > 0 {
		if err := leaveOut(r, how.skip); err != nil {
			return err
		}
	}
	result, err := s.Add(context.Background(), list) // one transaction: all or none
	if err != nil {
		return err
	}
	if len(result.Refused) > 0 {
		return fmt.Errorf("%d rows were refused by the store", len(result.Refused))
	}
	_, err = fmt.Fprintf(out, "%d instruments written, %d changed\n", r.Count("new"), r.Count("changed"))
	return err
}

func leaveOut(r *register.Register, name string) error {
	var b bytes.Buffer
	if err := r.LeftOut(&b); err != nil {
		return err
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(b.Bytes())
	return errors.Join(err, f.Sync(), f.Close())
}

// writer finds the account in whose name the changes are made.
func writer(s *store.Store, name string) (string, error) {
	k, err := auth.New(s, time.Now)
	if err != nil {
		return "", err
	}
	list, err := k.Users()
	if err != nil {
		return "", err
	}
	var found []string
	for _, u := range list {
		if !u.Revoked && u.Role == auth.Administrator &&
			(name == "" || strings.EqualFold(u.Name, strings.TrimSpace(name))) {
			found = append(found, u.ID)
		}
	}
	if len(found) != 1 {
		return "", fmt.Errorf("%d administrators answer to that; --user names one (gaugewright users list)", len(found))
	}
	return found[0], nil
}
