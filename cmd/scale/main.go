package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo/company"
	"gaugewright/sync/store"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	run := map[string]func(context.Context, []string, io.Writer) error{
		"make": makeCompany, "measure": measure, "rounds": moveRounds,
	}
	if len(os.Args) < 2 || run[os.Args[1]] == nil {
		fmt.Fprintln(os.Stderr, "usage: scale make|measure|rounds …, with -h for its options")
		os.Exit(2)
	}
	if err := run[os.Args[1]](ctx, os.Args[2:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "scale "+os.Args[1]+":", err)
		os.Exit(1)
	}
}

// password is the default password of every account of a made-up company.
const password = "seven brass kettles hum"

// madeFor is the default date of a made-up company: the same folder comes out on every day.
const madeFor = "2026-09-14"

func makeCompany(ctx context.Context, args []string, out io.Writer) error {
	f := flag.NewFlagSet("make", flag.ContinueOnError)
	var o company.Options
	data := f.String("data", "", "the data folder to make; it must not be there")
	f.IntVar(&o.Instruments, "instruments", 1000, "how many instruments")
	f.IntVar(&o.Sites, "sites", 0, "at how many sites; 0: one for each 2,500 instruments")
	f.IntVar(&o.Years, "years", 5, "of visits before today; each has some 20 captures an instrument")
	f.IntVar(&o.Models, "models", 0, "gauges that are invented, of which the others are copies; 0: 600 at most")
	f.Uint64Var(&o.Seed, "seed", 1, "another company for each")
	day := f.String("today", madeFor, "the day of the rounds, or now")
	word := f.String("password", password, "of every account")
	if err := f.Parse(args); err != nil {
		return err
	}
	if *data == "" {
		return errors.New("--data names no folder")
	}
	if _, err := os.Stat(*data); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s is there already", *data)
	}
	o.Today = time.Now()
	if *day != "now" {
		var err error
		if o.Today, err = time.Parse(time.DateOnly, *day); err != nil {
			return err
		}
	}
	return build(ctx, *data, *word, o, out)
}

// build makes a company and its accounts. The folder is synced only at the end; an unfinished one
// is thrown away.
func build(ctx context.Context, data, word string, o company.Options, out io.Writer) (err error) {
	s, err := store.OpenWith(data, store.Options{NoSync: true, NoLog: true})
	if err != nil {
		return err
	}
	began, reported := time.Now(), time.Now()
	o.Progress = func(changes int, part float64) {
		if time.Since(reported) > 5*time.Second {
			reported = time.Now()
			fmt.Fprintf(os.Stderr, "%3.0f %%, %d changes\n", 100*part, changes)
		}
	}
	r, err := company.Make(ctx, s, o)
	if err == nil {
		err = admit(s, r, word)
	}
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	file, err := os.Open(filepath.Join(data, store.File))
	if err != nil {
		return err
	}
	if err := errors.Join(file.Sync(), file.Close(), store.SyncFolder(data)); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d instruments at %d sites, %d standards, %d visits, %d runs, %d captures, %d certificates, %d changes in %v\n",
		r.Instruments, len(r.Sites), r.Standards, r.Visits, r.Runs, r.Captures, r.Certificates, r.Changes,
		time.Since(began).Round(time.Second))
	for _, p := range r.People {
		if err == nil {
			_, err = fmt.Fprintf(out, "log-in: %-22s %s\n", p.Login, p.Role)
		}
	}
	return err
}

// admit makes an account for everybody. Technicians get the records of their site.
func admit(s *store.Store, r company.Result, word string) error {
	k, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	for _, p := range r.People {
		if _, err := k.Add(p.ID, p.Login, auth.Role(p.Role), word); err != nil {
			return err
		}
		if len(p.Sites) == 0 {
			continue
		}
		if err := k.SetSites(p.ID, p.Sites); err != nil {
			return err
		}
	}
	return nil
}
