package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
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
	f := flag.NewFlagSet("demo", flag.ContinueOnError)
	f.SetOutput(warn)
	data := f.String("data", "", "the data folder; an invented plant is put into it if it is empty")
	l := listening{trust: ":8081"}
	f.StringVar(&l.address, "addr", "localhost:8080", "where to listen")
	f.BoolVar(&l.ownCA, "own-ca", false, "TLS by a private authority made in the data folder, to try it with phones")
	seed := f.Uint64("seed", 1, "another number invents another plant")
	only := f.Bool("seed-only", false, "put the plant into the folder and end")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if *data == "" {
		return errors.New("--data names no folder")
	}
	if err := plainOnlyHere(l.address, l.tls(), false); err != nil {
		return err
	}
	s, err := store.Open(*data)
	if err != nil {
		return err
	}
	err = seedDemo(s, demo.Options{Seed: *seed, Today: time.Now()}, out)
	if err == nil && !*only {
		err = serveStore(s, l, out)
	}
	return errors.Join(err, s.Close())
}

// seedDemo fills an empty store with an invented plant, makes its people's accounts and prints their passwords this once. A store that has
// changes is left as it is.
func seedDemo(s *store.Store, o demo.Options, out io.Writer) error {
	last, err := s.Last()
	if err != nil {
		return err
	}
	if last > 0 {
		_, err := fmt.Fprintln(out, "the folder is not empty and is served as it is; its passwords were shown when it was made (anew with: gaugewright users add)")
		return err
	}
	r, err := demo.Seed(context.Background(), s, o)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "invented: %d instruments, %d visits (%d found out of limits, %d adjusted, %d waiting for the office), %d changes\n",
		r.Instruments, r.Visits, r.Failed, r.Adjusted, r.Waiting, r.Changes); err != nil {
		return err
	}
	if r.NoHistory {
		if _, err := fmt.Fprintln(out, "no past visits: this build has no rooms expand and evaluate"); err != nil {
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
