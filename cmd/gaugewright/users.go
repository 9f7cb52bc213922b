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
	const usage = "users list|add|password|invite|role|revoke|restore|logout|second-off --data DIR [--name NAME] [--role technician|reviewer|administrator|hub] [--id ID]; add and password read it from standard input"
	if len(args) == 0 {
		return errors.New(usage)
	}
	f := flag.NewFlagSet("users "+args[0], flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	name := f.String("name", "", "the account's name")
	role := f.String("role", string(auth.Technician), "technician, reviewer, administrator or hub")
	id := f.String(
		"id", "",
		"with add: the id that this person has at the office above, where this is a hub's folder; else a new one",
	)
	if err := f.Parse(args[1:]); err != nil {
		return errRefused
	}
	if err := at.named(); err != nil {
		return err
	}
	s, err := at.open()
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
		case "role":
			err = alterUser(k, *name, "role", "is "+*role+" now", func(id string, noted store.Step) error {
				return k.SetRole(id, auth.Role(*role), noted)
			}, out)
		case "revoke":
			err = alterUser(k, *name, "revoked", "revoked", noting(k.Revoke), out)
		case "restore":
			err = alterUser(k, *name, "restored", "restored", noting(k.Restore), out)
		case "logout":
			err = alterUser(
				k, *name, "logins_ended", "is logged out everywhere",
				func(id string, noted store.Step) error { return k.EndOtherSessions(id, "", noted) }, out,
			)
		case "second-off":
			err = alterUser(k, *name, "second_ended", "logs in without a second factor now", noting(k.EndSecond), out)
		case "invite":
			err = inviteUser(k, *name, out)
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
	u, err := k.Add(id, name, role, password, commandLineEvent("account_added", id))
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
	return alterUser(k, name, "password_set", "has a new password, and the log-ins made with the old one have ended",
		func(id string, noted store.Step) error { return k.SetPassword(id, password, noted) }, out)
}

// inviteUser removes a password and prints the code for choosing another one.
func inviteUser(k *auth.Keeper, name string, out io.Writer) error {
	id, err := k.IDOf(name)
	if err != nil {
		return err
	}
	code, err := k.InviteAgain(id, commandLineEvent("invited", id))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(
		out,
		"%s logs in with the code %s within seven days and chooses a password; the old one has ended\n",
		name, code,
	)
	return err
}

// commandLineEvent is the step that records what the command line does to an account.
func commandLineEvent(kind, id string) store.Step {
	return store.Noting(store.Event{Kind: kind, About: id, Detail: "command line"})
}

// noting adapts a function of any number of steps to one step.
func noting(f func(string, ...store.Step) error) func(string, store.Step) error {
	return func(id string, noted store.Step) error { return f(id, noted) }
}

// alterUser changes the account of a name, records it as an event of a kind and prints it.
func alterUser(
	k *auth.Keeper, name, kind, said string, alter func(id string, noted store.Step) error, out io.Writer,
) error {
	list, err := k.Users()
	if err != nil {
		return err
	}
	for _, u := range list {
		if strings.EqualFold(u.Name, strings.TrimSpace(name)) {
			if err := alter(u.ID, commandLineEvent(kind, u.ID)); err != nil {
				return err
			}
			_, err := fmt.Fprintln(out, u.Name, said)
			return err
		}
	}
	return fmt.Errorf("there is no account %q", name)
}
