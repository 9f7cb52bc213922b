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
		{"password --name anna", "another long one\n", "Anna has a new password", ""},
		{"password --name anna", "short\n", "", "10 to 256"},
		{"password --name carl", "another long one", "", `no account "carl"`},
		{"revoke --name anna", "", "Anna revoked", ""},
		{"list", "", "\trevoked\n", ""},
		{"add --name anna", "a long enough one", "", "restore it first"},
		{"restore --name ANNA", "", "Anna restored", ""},
		{"dismiss --name anna", "", "", "users list|add|password|revoke|restore"},
	} {
		var out, warn bytes.Buffer
		err := users(append(strings.Fields(step.args), "--data", dir), strings.NewReader(step.in), &out, &warn)
		if step.refused == "" && (err != nil || !strings.Contains(out.String(), step.said)) || step.refused != "" && (err == nil || !strings.Contains(err.Error(), step.refused)) {
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
	l, err := k.Login("anna", "another long one", "here")
	if err := errors.Join(err, s.Close()); err != nil || l.User.Role != auth.Reviewer {
		t.Errorf("after all of it: %+v, %v", l.User, err)
	}
}
