package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"time"

	"gaugewright/server/machine"
	"gaugewright/sync/store"
)

// tokens makes, lists and ends what other systems show at /api/v1.
func tokens(args []string, _ io.Reader, out, warn io.Writer) error {
	const usage = "tokens list|make|end --data DIR [--name NAME --scopes SCOPE,SCOPE --until YYYY-MM-DD] [--id ID]"
	if len(args) == 0 {
		return errors.New(usage)
	}
	f := flag.NewFlagSet("tokens "+args[0], flag.ContinueOnError)
	f.SetOutput(warn)
	data := f.String("data", "", "the data folder")
	name := f.String("name", "", "with make: what the token is called")
	scopes := f.String("scopes", "", "with make: what it is for: "+scopeList())
	until := f.String("until", "", "with make: its last day, within two years")
	id := f.String("id", "", "with end: the token's id")
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if *data == "" {
		return errors.New("--data names no folder")
	}
	s, err := store.Open(*data)
	if err != nil {
		return err
	}
	k := machine.NewTokens(s, time.Now)
	switch args[0] {
	case "list":
		err = listTokens(k, out)
	case "make":
		err = makeToken(k, *name, *scopes, *until, out)
	case "end":
		err = k.End(*id, store.Noting(store.Event{
			Kind: "machine_token_ended", Detail: *id + ", command line",
		}))
	default:
		err = errors.New(usage)
	}
	return errors.Join(err, s.Close())
}

func scopeList() string {
	var all []string
	for _, s := range machine.Scopes {
		all = append(all, string(s))
	}
	return strings.Join(all, " ")
}

func listTokens(k *machine.Tokens, out io.Writer) error {
	list, err := k.List()
	for _, t := range list {
		state := "in force"
		if !t.InForce(time.Now()) {
			state = "over"
		}
		if _, err := fmt.Fprintf(
			out, "%s\t%s\tbefore %s\t%s\t%v\n", t.ID, t.Name, t.Until.Local().Format(time.DateTime), state, t.Scopes,
		); err != nil {
			return err
		}
	}
	return err
}

func makeToken(k *machine.Tokens, name, scopes, until string, out io.Writer) error {
	day, err := time.ParseInLocation(time.DateOnly, until, time.Local)
	if err != nil {
		return errors.New("--until is a day such as 2026-01-31")
	}
	var list []machine.Scope
	for one := range strings.FieldsFuncSeq(scopes, func(r rune) bool { return r == ',' || r == ' ' }) {
		list = append(list, machine.Scope(one))
	}
	t, secret, err := k.Make(name, list, day.AddDate(0, 0, 1), "", func(t machine.Token) store.Step {
		return store.Noting(store.Event{Kind: "machine_token_made", About: t.Name, Detail: "command line"})
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s\t%s\n%s\n(the secret is shown this once)\n", t.ID, t.Name, secret)
	return err
}
