package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/store"
)

// verifyRecords checks its input according to what it is: a data folder, a backup, an export,
// everything that a certificate rests on, or certificates (PDF, XML, signed record, code).
func verifyRecords(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("verify", flag.ContinueOnError)
	f.SetOutput(warn)
	f.Usage = func() {
		fmt.Fprintln(
			warn,
			"usage: gaugewright verify [--keys FILE] [--record FILE] DATA|BACKUP|EXPORT|RECORD.json|CERTIFICATE|FOLDER",
		)
		f.PrintDefaults()
	}
	keyFile := f.String("keys", "", "the office's public keys, as GET /api/keys, GET /api/verify or gaugewright keys gave them; without it those in the record are taken")
	recordFile := f.String(
		"record", "",
		"the record of the certificate whose PDF is checked, as GET /api/certificates/ID.json gave it",
	)
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if f.NArg() != 1 {
		return errors.New("name one data folder, backup, export, record or certificate")
	}
	held, err := readTrust(*keyFile)
	if err != nil {
		return err
	}
	if dir, done, err := exported(f.Arg(0)); err != nil || dir != nil {
		if err != nil {
			return err
		}
		r, err := verify.Export(dir, held.ring)
		return errors.Join(printReport(r, err == nil, out), err, done())
	}
	if *recordFile == "" {
		is, err := papers(f.Arg(0))
		if err != nil {
			return err
		}
		if is {
			return verifyPapers(f.Arg(0), &held, out)
		}
	}
	if *keyFile != "" && held.ring == nil {
		return errors.New(
			"--keys names a list of the office's keys alone; a record of work needs the reply of GET /api/keys",
		)
	}
	r, err := verifyOne(f.Arg(0), *recordFile, held.ring)
	if failed := printReport(r, err == nil, out); failed != nil {
		return failed
	}
	return err
}

func verifyOne(path, recordFile string, ring *office.Ring) (verify.Report, error) {
	info, err := os.Stat(path)
	if err != nil {
		return verify.Report{}, err
	}
	if info.IsDir() {
		return verify.Folder(path, ring)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return verify.Report{}, err
	}
	switch {
	case bytes.HasPrefix(b, []byte{0x1f, 0x8b}): // gzip
		return verify.Backup(path, ring)
	case recordFile != "":
		record, err := os.ReadFile(recordFile)
		if err != nil {
			return verify.Report{}, err
		}
		return verify.Record(record, b, ring)
	}
	return verify.Record(b, nil, ring)
}

// printReport prints what was checked. If something does not verify, the error names the first such
// item.
func printReport(r verify.Report, holds bool, out io.Writer) error {
	var b strings.Builder
	if r.Store != "" {
		fmt.Fprintf(&b, "store %s: %d entries of the journal, %d heads\n", r.Store, r.Entries, r.Heads)
		fmt.Fprintf(&b, "keys: %d confirmed, %d not confirmed\n", r.Keys[plant.MarkGood], r.Keys[plant.MarkUnconfirmed])
		fmt.Fprintf(&b, "statements: %d signed with a key, %d with one that is not confirmed, %d with one that had ended, %d not signed with a key\n",
			r.Statements[plant.MarkGood], r.Statements[plant.MarkUnconfirmed], r.Statements[plant.MarkEnded], r.Statements[plant.MarkNone])
		fmt.Fprintf(&b, "findings: %d calculated again; certificates: %d\n", r.Findings, r.Certificates)
	}
	for _, note := range r.Notes {
		fmt.Fprintln(&b, "note:", note)
	}
	if holds {
		fmt.Fprintln(&b, "all of it holds")
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// keys prints the public keys of a data folder that no program is using. Before that it can give
// the office a new key, or confirm or end a key.
func keys(args []string, _ io.Reader, out, warn io.Writer) (err error) {
	f := flag.NewFlagSet("keys", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	fresh := f.Bool("new", false, "give the office another key, by which it signs from its next decision on")
	confirm := f.String("confirm", "", "the id of a key that is known to be its person's, which came by way of a hub")
	end := f.String("end", "", "the id of a person's key that is taken out of use")
	why := f.String("why", "", "with --end: the reason")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if err := errors.Join(at.named(), at.there()); err != nil {
		return err
	}
	if *end != "" && *why == "" {
		return errors.New("--why gives no reason")
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if *fresh {
		k, err := office.NewKey(s, time.Now(), func(thumbprint string) store.Step {
			return store.Noting(store.Event{Kind: "key_new", Detail: thumbprint})
		})
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(
			out,
			"the office signs with the key %s from its next decision on; the one before vouches for it\n",
			k.Thumbprint(),
		)
		return err
	}
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	o := office.New(s, keeper, time.Now)
	if *confirm != "" {
		noted := store.Noting(store.Event{Kind: "key_confirmed", Detail: *confirm})
		if err := o.Confirm(context.Background(), "", []string{*confirm}, noted); err != nil {
			return err
		}
	}
	if *end != "" {
		noted := store.Noting(store.Event{Kind: "key_ended", Detail: *end + " " + *why})
		if err := o.EndKey(context.Background(), "", *end, *why, false, noted); err != nil {
			return err
		}
	}
	ring, err := o.Ring()
	if err != nil {
		return err
	}
	b, err := json.MarshalIndent(ring, "", " ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s\n", b)
	return err
}
