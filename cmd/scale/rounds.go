package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// moveRounds moves the rounds of a made-up company, so that the first ones are on another day: a phone
// holds what the days to come need.
func moveRounds(ctx context.Context, args []string, out io.Writer) error {
	f := flag.NewFlagSet("rounds", flag.ContinueOnError)
	data := f.String("data", "", "the data folder of a company that nobody serves now")
	day := f.String("today", "now", "the day of the first rounds, or now")
	if err := f.Parse(args); err != nil {
		return err
	}
	today := time.Now().UTC().Truncate(24 * time.Hour)
	if *day != "now" {
		var err error
		if today, err = time.Parse(time.DateOnly, *day); err != nil {
			return fmt.Errorf("--today: %w", err)
		}
	}
	s, err := store.OpenWith(*data, store.Options{})
	if err != nil {
		return fmt.Errorf("--data: %w", err)
	}
	n, err := shift(ctx, s, today)
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d rounds from %s on\n", n, today.Format(time.DateOnly))
	return err
}

func shift(ctx context.Context, s *store.Store, today time.Time) (int, error) {
	list, err := s.ByKind("round", "", 0)
	if err != nil {
		return 0, err
	}
	if len(list) == 0 {
		return 0, errors.New("no round is there")
	}
	var dates []time.Time
	first := time.Time{}
	for _, state := range list {
		r, err := plant.ReadRound(state)
		if err != nil {
			return 0, err
		}
		date, err := time.Parse(time.DateOnly, r.Date)
		if err != nil {
			return 0, err
		}
		if dates = append(dates, date); first.IsZero() || date.Before(first) {
			first = date
		}
	}
	device, err := change.NewID(rand.Reader)
	if err != nil {
		return 0, err
	}
	people, err := s.ByKind("person", "", 1)
	if err != nil {
		return 0, err
	}
	if len(people) == 0 {
		return 0, errors.New("nobody is there")
	}
	p := plant.Drafter{Device: device, Author: people[0].ID, Random: rand.Reader}
	var changes []change.Change
	for i, state := range list {
		moved := dates[i].Add(today.Sub(first)).Format(time.DateOnly)
		c, _, err := p.Edit(state, time.Now(), plant.Set{Field: "date", Value: moved})
		if err != nil {
			return 0, err
		}
		changes = append(changes, c)
	}
	for part := range slices.Chunk(changes, 500) {
		switch r, err := s.Add(ctx, part); {
		case err != nil:
			return 0, err
		case len(r.Refused) > 0:
			return 0, fmt.Errorf("%d changes were refused", len(r.Refused))
		}
	}
	return len(changes), nil
}
