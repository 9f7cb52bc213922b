package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/store"
)

func TestUsers(t *testing.T) {
	dir := t.TempDir()
	for _, step := range []struct{ args, in, said, refused string }{
		{"add --name Anna --role reviewer", "a long enough one\r\n", "Anna\treviewer\t", ""},
		{"add --name bert", "too short", "", "10 to 256"},
		{"add --name bert --role chief", "a long enough one", "", "role"},
		{"add --name ANNA", "a long enough one", "", "of this name already"},
		{"role --name anna --role administrator", "", "Anna is administrator now", ""},
		{"role --name anna --role technician", "", "", "only administrator"},
		{"revoke --name anna", "", "", "only administrator"},
		{"add --name carla --role administrator", "a long enough one", "carla\tadministrator\t", ""},
		{"role --name anna --role reviewer", "", "Anna is reviewer now", ""},
		{"password --name anna", "another long one\n", "Anna has a new password", ""},
		{"password --name anna", "short\n", "", "10 to 256"},
		{"password --name carl", "another long one", "", `no account "carl"`},
		{"revoke --name anna", "", "Anna revoked", ""},
		{"list", "", "\trevoked\n", ""},
		{"add --name anna", "a long enough one", "", "restore it first"},
		{"restore --name ANNA", "", "Anna restored", ""},
		{"second-off --name anna", "", "", "not yet"},
		{"logout --name anna", "", "Anna is logged out everywhere", ""},
		{"invite --name bert", "", "", "no account"},
		{"invite --name carla", "", "carla logs in with the code ", ""},
		{"dismiss --name anna", "", "", "users list|add|password|invite|role|revoke|restore"},
	} {
		var out, warn bytes.Buffer
		err := users(append(strings.Fields(step.args), "--data", dir), strings.NewReader(step.in), &out, &warn)
		if step.refused == "" && (err != nil || !strings.Contains(out.String(), step.said)) || step.refused != "" &&
			(err == nil || !strings.Contains(err.Error(), step.refused)) {
			t.Errorf("users %s: %q, %v", step.args, out.String(), err)
		}
	}
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	k, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	list, err := s.Events(0, 50)
	if err != nil || len(list) != 9 || list[0].Kind != "invited" || list[1].Kind != "logins_ended" ||
		list[8].Kind != "account_added" {
		t.Errorf("noted: %+v, %v", list, err)
	}
	l, err := k.Login("anna", "another long one", "here")
	if err := errors.Join(err, s.Close()); err != nil || l.User.Role != auth.Reviewer {
		t.Errorf("after all of it: %+v, %v", l.User, err)
	}
}
