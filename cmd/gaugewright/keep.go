package main

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/server/copies"
	"gaugewright/server/office"
	"gaugewright/sync/store"
)

// errDamage ends check and restore with status 1 after the damage was printed.
var errDamage = errors.New("this folder is damaged: keep it as it is, and bring back a backup beside it")

func check(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("check", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if err := at.named(); err != nil {
		return err
	}
	r, err := at.check()
	if err != nil {
		return err
	}
	return report(r, out)
}

func report(r store.Report, out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "store %s, epoch %s\n%d changes in %d records, %d heads, %d held back, %d events, %d blobs\nroot %s\n",
		r.Store, r.Epoch, r.Changes, r.Records, r.Heads, r.Held, r.Events, r.Blobs, r.Root)
	for _, note := range r.Notes {
		fmt.Fprintln(&b, "note:", note)
	}
	for _, damage := range r.Damage {
		fmt.Fprintln(&b, "damage:", damage)
	}
	if len(r.Damage) == 0 {
		fmt.Fprintln(&b, "no damage")
	}
	if _, err := io.WriteString(out, b.String()); err != nil {
		return err
	}
	if len(r.Damage) > 0 {
		return errDamage
	}
	return nil
}

func backup(args []string, in io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("backup", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	from := f.String("from", "", "instead: the address of a serving program, such as https://office.example:8443; standard input has the password and, on a second line, the code of a second factor")
	name := f.String("name", "administrator", "with --from: the account of an administrator")
	ca := f.String("ca", "", "with --from: the certificate (PEM) of the plant's own authority")
	file := f.String("out", "", "the file to write; it must not be there yet")
	to := f.String(
		"encrypt-to", "",
		"the recipients (age1…, by commas) who alone can read the file; restore --identity does",
	)
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	switch {
	case (at.data == "") == (*from == ""):
		return errors.New("give either --data or --from")
	case *from == "" && at.named() != nil:
		return at.named()
	case *file == "":
		return errors.New("--out names no file")
	}
	copyTo := func(w io.Writer) error { return fetchBackup(*from, *name, *ca, in, w) }
	if at.data != "" {
		if err := at.there(); err != nil {
			return err
		}
		s, err := at.open()
		if err != nil {
			return err
		}
		defer s.Close() // nothing was written that could be lost
		copyTo = func(w io.Writer) error {
			return errors.Join(s.Note(store.Event{Kind: "backup", Detail: "command line"}), s.Backup(w, true))
		}
	}
	sealed, err := sealing(*to, copyTo)
	if err != nil {
		return err
	}
	n, err := writeNew(*file, sealed)
	if err != nil {
		return err
	}
	note := ""
	if *from != "" {
		note = "; the folder authority of the data folder is not in it"
	}
	care := "It holds accounts and keys: keep it as safe as the data folder"
	if *to != "" {
		care = "Only the holder of the identity can read it: without that it is lost"
	}
	_, err = fmt.Fprintf(out, "%s: %d bytes. %s%s\n", *file, n, care, note)
	return err
}

// writeNew writes a file that did not exist before.
func writeNew(path string, write func(io.Writer) error) (int64, error) {
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		return 0, fmt.Errorf("%s: %w", path, errors.Join(os.ErrExist, err))
	}
	return copies.Write(path, write)
}

func fetchBackup(from, name, ca string, in io.Reader, to io.Writer) error {
	base, err := url.Parse(from)
	if err != nil || base.Host == "" || base.Scheme != "https" && base.Scheme != "http" {
		return fmt.Errorf("--from %s is no address of a server", from)
	}
	lines := bufio.NewReader(in)
	password, err := lines.ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	code, err := lines.ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	client, err := trusting(ca)
	if err != nil {
		return err
	}
	body, err := json.Marshal(
		map[string]string{
			"name": name, "password": strings.TrimRight(password, "\r\n"), "code": strings.TrimSpace(code),
		},
	)
	if err != nil {
		return err
	}
	var login struct{ Access string }
	err = post(
		client, base.JoinPath("api/login").String(), "", body,
		func(r io.Reader) error { return json.NewDecoder(r).Decode(&login) },
	)
	if err != nil {
		return err
	}
	return post(client, base.JoinPath("api/backup").String(), login.Access, nil, func(r io.Reader) error {
		_, err := io.Copy(to, r)
		return err
	})
}

// trusting returns a client that trusts the machine's authorities and, if a file is given, the
// plant's own.
func trusting(ca string) (*http.Client, error) {
	t := &http.Transport{
		TLSClientConfig:       &tls.Config{MinVersion: tls.VersionTLS12},
		ResponseHeaderTimeout: 10 * time.Minute, DisableCompression: true,
	}
	if ca != "" {
		b, err := os.ReadFile(ca)
		if err != nil {
			return nil, err
		}
		pool, err := x509.SystemCertPool()
		if err != nil {
			pool = x509.NewCertPool()
		}
		if !pool.AppendCertsFromPEM(b) {
			return nil, fmt.Errorf("%s holds no certificate", ca)
		}
		t.TLSClientConfig.RootCAs = pool
	}
	return &http.Client{Transport: t}, nil
}

func post(client *http.Client, address, token string, body []byte, take func(io.Reader) error) (err error) {
	r, err := http.NewRequest(http.MethodPost, address, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	answer, err := client.Do(r)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, answer.Body.Close()) }()
	if answer.StatusCode != http.StatusOK {
		var e struct{ Error struct{ Message string } }
		if json.NewDecoder(io.LimitReader(answer.Body, 1<<16)).Decode(&e) != nil || e.Error.Message == "" {
			e.Error.Message = "it does not answer as an office does"
		}
		return fmt.Errorf("%s: %s: %s", address, answer.Status, e.Error.Message)
	}
	return take(answer.Body)
}

func restore(args []string, in io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("restore", flag.ContinueOnError)
	f.SetOutput(warn)
	data := f.String("data", "", "the data folder to make; it must not be there yet, or be empty")
	file := f.String("in", "", "the backup; - for standard input")
	identity := f.String("identity", "", "the file of the identity that an encrypted backup was made for")
	erased := f.String(
		"erased", "", "the list of what was erased, "+office.ErasedList+" of the data folder; the one beside the backup if it is there",
	)
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if *data == "" || *file == "" {
		return errors.New("give --data and --in")
	}
	list, err := erasedBeside(*file, *erased)
	if err != nil {
		return err
	}
	if *file != "-" {
		opened, err := os.Open(*file)
		if err != nil {
			return err
		}
		defer opened.Close() // it was only read
		in = opened
	}
	if in, err = opened(*identity, in); err != nil {
		return err
	}
	r, err := store.Restore(*data, in)
	if err != nil {
		return err
	}
	if err := noteRestored(*data); err != nil {
		return err
	}
	if err := report(r, out); err != nil {
		return err
	}
	if len(list) > 0 {
		if err := os.WriteFile(filepath.Join(*data, office.ErasedList), list, 0o600); err != nil {
			return err
		}
		_, err = fmt.Fprintln(out, "what was erased since this copy is erased again when it is served")
	} else {
		_, err = fmt.Fprintln(out, "there is no list of what was erased since this copy: erase it again by hand, or give --erased")
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, "phones will send again what this copy lacks. Everybody logs in again: the keys of log-ins are made new. Accounts and passwords are as they were in the copy: revoke again whom you revoked since")
	return err
}

// erasedBeside returns the list of erased items that a path names, or the one beside a backup;
// nothing if there is none.
func erasedBeside(backup, path string) ([]byte, error) {
	if path != "" {
		return os.ReadFile(path)
	}
	if backup == "-" {
		return nil, nil
	}
	list, err := os.ReadFile(filepath.Join(filepath.Dir(backup), office.ErasedList))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	return list, err
}
