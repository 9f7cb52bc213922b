package main

import (
	"bufio"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

func users(args []string, in io.Reader, out, warn io.Writer) error {
	const usage = "users list|add|password|revoke|restore --data DIR [--name NAME] [--role technician|reviewer|administrator|hub] [--id ID]; add and password read it from standard input"
	if len(args) == 0 {
		return errors.New(usage)
	}
	f := flag.NewFlagSet("users "+args[0], flag.ContinueOnError)
	f.SetOutput(warn)
	data := f.String("data", "", "the data folder")
	name := f.String("name", "", "the account's name")
	role := f.String("role", string(auth.Technician), "technician, reviewer, administrator or hub")
	id := f.String("id", "", "with add: the id that this person has at the office above, where this is a hub's folder; else a new one")
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if *data == "" {
		return errors.New("--data names no folder")
	}
	s, err := store.Open(*data)
	if err != nil {
		return err
	}
	k, err := auth.New(s, time.Now)
	if err == nil {
		switch args[0] {
		case "list":
			err = listUsers(k, out)
		case "add":
			err = addUser(k, *id, *name, auth.Role(*role), in, out)
		case "password":
			err = setPassword(k, *name, in, out)
		case "revoke":
			err = alterUser(k, *name, "revoked", k.Revoke, out)
		case "restore":
			err = alterUser(k, *name, "restored", k.Restore, out)
		default:
			err = errors.New(usage)
		}
	}
	return errors.Join(err, s.Close())
}

func listUsers(k *auth.Keeper, out io.Writer) error {
	list, err := k.Users()
	for _, u := range list {
		state := ""
		if u.Revoked {
			state = "revoked"
		}
		if _, err := fmt.Fprintf(out, "%s\t%s\t%s\t%s\n", u.Name, u.Role, u.ID, state); err != nil {
			return err
		}
	}
	return err
}

func addUser(k *auth.Keeper, id, name string, role auth.Role, in io.Reader, out io.Writer) error {
	password, err := readPassword(in)
	if err != nil {
		return err
	}
	if id == "" {
		if id, err = change.NewID(rand.Reader); err != nil {
			return err
		}
	}
	u, err := k.Add(id, name, role, password)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s\t%s\t%s\n", u.Name, u.Role, u.ID)
	return err
}

func readPassword(in io.Reader) (string, error) {
	line, err := bufio.NewReader(in).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	return strings.TrimRight(line, "\r\n"), nil
}

func setPassword(k *auth.Keeper, name string, in io.Reader, out io.Writer) error {
	password, err := readPassword(in)
	if err != nil {
		return err
	}
	return alterUser(k, name, "has a new password, and the log-ins made with the old one have ended",
		func(id string) error { return k.SetPassword(id, password) }, out)
}

// alterUser changes the account of a name and says so.
func alterUser(k *auth.Keeper, name, said string, alter func(id string) error, out io.Writer) error {
	list, err := k.Users()
	if err != nil {
		return err
	}
	for _, u := range list {
		if strings.EqualFold(u.Name, strings.TrimSpace(name)) {
			if err := alter(u.ID); err != nil {
				return err
			}
			_, err := fmt.Fprintln(out, u.Name, said)
			return err
		}
	}
	return fmt.Errorf("there is no account %q", name)
}
