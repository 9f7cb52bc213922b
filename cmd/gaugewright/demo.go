package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

func demonstrate(args []string, _ io.Reader, out, warn io.Writer) error {
	c, err := configured("demo", args, warn)
	if err != nil || c.PrintConfig {
		return errors.Join(err, printed(c, out))
	}
	s, err := store.Open(c.Data)
	if err != nil {
		return err
	}
	err = seedDemo(s, demo.Options{Seed: c.Seed, Today: time.Now(), Base: "http://" + c.Address}, out)
	if err == nil && !c.SeedOnly {
		err = serveStore(s, c, out)
	}
	return errors.Join(err, s.Close())
}

// seedDemo fills an empty store with an invented plant, makes its people's accounts and prints
// their passwords, this once. It leaves a store that has changes as it is.
func seedDemo(s *store.Store, o demo.Options, out io.Writer) error {
	last, err := s.Last()
	if err != nil {
		return err
	}
	if last > 0 {
		_, err := fmt.Fprintln(out, "the folder is not empty and is served as it is; its passwords were shown when it was made (anew with: gaugewright users password)")
		return err
	}
	r, err := demo.Seed(context.Background(), s, o)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "invented: %d instruments, %d visits (%d found out of limits, %d adjusted, %d waiting for the office), %d certificates, %d changes\n",
		r.Instruments, r.Visits, r.Failed, r.Adjusted, r.Waiting, r.Certificates, r.Changes); err != nil {
		return err
	}
	if r.NoHistory {
		if _, err := fmt.Fprintln(out, "no past visits: this build lacks the calculations expand and evaluate"); err != nil {
			return err
		}
	}
	k, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	for _, p := range r.People {
		password, err := change.NewID(rand.Reader)
		if err != nil {
			return err
		}
		const enough = 16 // characters, 80 bits
		password = password[:enough]
		login, _, _ := strings.Cut(strings.ToLower(p.Name), " ")
		if _, err := k.Add(p.ID, login, auth.Role(p.Role), password); err != nil {
			return err
		}
		if _, err := fmt.Fprintf(out, "log-in: name %-8s password %s  (%s, %s)\n", login, password, p.Name, p.Role); err != nil {
			return err
		}
	}
	return nil
}
