package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/store"

	"filippo.io/age"
)

// sealing encrypts what is written so that only some recipients can read it. Without recipients it
// stays in plain form.
func sealing(to string, write func(io.Writer) error) (func(io.Writer) error, error) {
	if to == "" {
		return write, nil
	}
	list, err := recipients("--encrypt-to", to)
	if err != nil {
		return nil, err
	}
	return func(w io.Writer) error {
		sealed, err := age.Encrypt(w, list...)
		if err != nil {
			return err
		}
		if err := write(sealed); err != nil {
			return err // not closed: a broken-off file must not look complete
		}
		return sealed.Close()
	}, nil
}

// recipients reads an option's value: who can read what is sealed.
func recipients(option, text string) (all []age.Recipient, err error) {
	for one := range strings.SplitSeq(text, ",") {
		list, err := age.ParseRecipients(strings.NewReader(strings.TrimSpace(one)))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", option, err)
		}
		all = append(all, list...)
	}
	return all, nil
}

// sealedMark begins a file of age.
const sealedMark = "age-encryption.org/"

var errSealed = errors.New("this backup is encrypted; --identity names the file of the identity that it was made for")

// opened decrypts with the identities of a file. Plain input stays as it is.
func opened(identity string, in io.Reader) (io.Reader, error) {
	b := bufio.NewReader(in)
	begins, err := b.Peek(len(sealedMark))
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	switch is := string(begins) == sealedMark; {
	case is && identity == "":
		return nil, errSealed
	case !is && identity != "":
		return nil, errors.New("--identity: this backup is not encrypted")
	case !is:
		return b, nil
	}
	f, err := os.Open(identity)
	if err != nil {
		return nil, err
	}
	defer f.Close() // it was only read
	list, err := age.ParseIdentities(f)
	if err != nil {
		return nil, fmt.Errorf("--identity: %w", err)
	}
	return age.Decrypt(b, list...)
}

// noteRestored makes new log-in keys in a folder that a backup was restored to, and records that.
func noteRestored(dir string) error {
	s, err := store.Open(dir)
	if err != nil {
		return err
	}
	_, err = auth.New(s, time.Now)
	return errors.Join(
		err, s.Note(store.Event{Kind: "backup_restored", Detail: "all log-ins ended, new keys"}), s.Close(),
	)
}
