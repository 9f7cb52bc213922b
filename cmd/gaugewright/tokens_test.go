package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"gaugewright/server/machine"
	"gaugewright/sync/store"
)

func TestTokens(t *testing.T) {
	dir := t.TempDir()
	until := time.Now().AddDate(0, 6, 0).Format(time.DateOnly)
	run := func(args string) (string, error) {
		var out, warn bytes.Buffer
		err := tokens(append(strings.Fields(args), "--data", dir), nil, &out, &warn)
		return out.String(), err
	}
	for args, refused := range map[string]string{
		"make --name x --scopes read:due --until soon":                "--until is a day",
		"make --name x --scopes read:all --until " + until:            "scope",
		"make --name x --until " + until:                              "for something",
		"make --name x --scopes read:due --sites XX --until " + until: `no site has the code "XX"`,
		"end --id none": "no such token",
		"forget":        "tokens list|make|end",
		"make --name x --scopes read:due --until 2999-01-01":                "within two years",
		"make --scopes read:due,write:orders --until " + until + " --name ": "flag",
	} {
		if said, err := run(args); err == nil || !strings.Contains(err.Error(), refused) && refused != "flag" {
			t.Errorf("%s: %q, %v", args, said, err)
		}
	}
	said, err := run("make --name ledger --scopes read:due,write:orders --until " + until)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(said, "\n")
	id, _, _ := strings.Cut(lines[0], "\t")
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	one, err := machine.NewTokens(s, time.Now).Who(lines[1])
	if err != nil || one.ID != id || !one.May(machine.WriteOrders) || one.May(machine.ReadVisits) {
		t.Errorf("%+v, %v", one, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := run("end --id " + id); err != nil {
		t.Fatal(err)
	}
	if said, err = run("list"); err != nil || !strings.Contains(said, "ledger") || !strings.Contains(said, "over") {
		t.Errorf("%q, %v", said, err)
	}
}
