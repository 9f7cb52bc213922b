package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"gaugewright/server/machine"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// tokens makes, lists and ends the tokens that other systems show at /api/v1.
func tokens(args []string, _ io.Reader, out, warn io.Writer) error {
	const usage = "tokens list|make|end --data DIR [--name NAME --scopes SCOPE,SCOPE [--sites CODE,CODE] --until YYYY-MM-DD] [--id ID]"
	if len(args) == 0 {
		return errors.New(usage)
	}
	f := flag.NewFlagSet("tokens "+args[0], flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	name := f.String("name", "", "with make: what the token is called")
	scopes := f.String("scopes", "", "with make: what it is for: "+scopeList())
	sites := f.String("sites", "", "with make: the codes of the sites that it is given; else the whole plant")
	until := f.String("until", "", "with make: its last day, within two years")
	id := f.String("id", "", "with end: the token's id")
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if err := at.named(); err != nil {
		return err
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	k := machine.NewTokens(s, time.Now)
	switch args[0] {
	case "list":
		err = listTokens(s, k, out)
	case "make":
		err = makeToken(s, k, *name, *scopes, *sites, *until, out)
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

func listTokens(s *store.Store, k *machine.Tokens, out io.Writer) error {
	list, err := k.List()
	for _, t := range list {
		state := "in force"
		if !t.InForce(time.Now()) {
			state = "over"
		}
		where := "whole plant"
		if len(t.Sites) > 0 {
			where = ""
		}
		for _, id := range t.Sites {
			site, err := plant.LoadSite(s, id)
			if err != nil {
				return err
			}
			where = strings.TrimSpace(where + " " + site.Code)
		}
		if _, err := fmt.Fprintf(
			out, "%s\t%s\tbefore %s\t%s\t%v\t%s\n", t.ID, t.Name, t.Until.Local().Format(time.DateTime), state, t.Scopes, where,
		); err != nil {
			return err
		}
	}
	return err
}

func makeToken(s *store.Store, k *machine.Tokens, name, scopes, sites, until string, out io.Writer) error {
	day, err := time.ParseInLocation(time.DateOnly, until, time.Local)
	if err != nil {
		return errors.New("--until is a day such as 2026-01-31")
	}
	var list []machine.Scope
	apart := func(r rune) bool { return r == ',' || r == ' ' }
	for one := range strings.FieldsFuncSeq(scopes, apart) {
		list = append(list, machine.Scope(one))
	}
	known, err := plant.All(s, "site", plant.ReadSite)
	if err != nil {
		return err
	}
	var ids []string
	for code := range strings.FieldsFuncSeq(sites, apart) {
		i := slices.IndexFunc(known, func(x plant.Site) bool { return x.Code == code })
		if i < 0 {
			return fmt.Errorf("--sites: no site has the code %q", code)
		}
		ids = append(ids, known[i].ID)
	}
	t, secret, err := k.Make(name, list, ids, day.AddDate(0, 0, 1), "", func(t machine.Token) store.Step {
		return store.Noting(store.Event{Kind: "machine_token_made", About: t.Name, Detail: "command line"})
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s\t%s\n%s\n(the secret is shown this once)\n", t.ID, t.Name, secret)
	return err
}
