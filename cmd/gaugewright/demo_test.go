package main

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

func TestDemoLogIns(t *testing.T) {
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	var out bytes.Buffer
	o := demo.Options{Seed: 1, Today: time.Date(2026, 9, 14, 9, 0, 0, 0, time.UTC), Instruments: 9, Years: 1}
	if err := seedDemo(s, o, &out); err != nil {
		t.Fatal(err)
	}
	k, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`log-in: name (\S+) +password (\S+) `).FindAllStringSubmatch(out.String(), -1)
	if len(found) != 4 {
		t.Fatal(out.String())
	}
	for _, f := range found {
		l, err := k.Login(f[1], f[2], "here")
		if err != nil {
			t.Error(f[1], err)
			continue
		}
		p, err := plant.LoadPerson(s, l.User.ID)
		if err != nil || p.Role != string(l.User.Role) || !strings.HasPrefix(strings.ToLower(p.Name), f[1]+" ") {
			t.Error("the account is not the person's:", l.User, p, err)
		}
	}
	out.Reset()
	if err := seedDemo(s, o, &out); err != nil || strings.Contains(out.String(), "password ") {
		t.Error("a folder with a plant in it is left as it is:", out.String(), err)
	}
}

func TestDemoNeedsAFolderAndThisMachine(t *testing.T) {
	var out, warn bytes.Buffer
	if err := demonstrate(nil, nil, &out, &warn); err == nil {
		t.Error("no folder")
	}
	if err := demonstrate([]string{"--data", t.TempDir(), "--addr", "0.0.0.0:0"}, nil, &out, &warn); err == nil ||
		errors.Is(err, errRefused) {
		t.Error("plain HTTP for all:", err)
	}
}
