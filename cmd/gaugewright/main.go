package main

import (
	"errors"
	"fmt"
	"io"
	"os"
)

type command struct {
	name, does string
	run        func(args []string, in io.Reader, out, warn io.Writer) error
}

func commands() []command {
	return []command{
		{"serve", "serve a data folder to phones and browsers", serve},
		{"demo", "serve an invented plant", demonstrate},
		{"calc", "run a calculation: JSON in, JSON out", calculate},
		{"check", "walk a data folder and name any damage", check},
		{"verify", "hold a data folder, a backup, an export or a certificate to its signatures", verifyRecords},
		{"keys", "list the public keys; give the office another one", keys},
		{"backup", "take a copy of a data folder, or of a serving program", backup},
		{"restore", "bring a backup back as a new data folder", restore},
		{"move", "move a plant from its data folder into a database of PostgreSQL's protocol, or back", move},
		{"import", "take in a list of instruments, or an export into a new plant", importRegister},
		{"export", "take everything out as tables, documents and files", exportPlant},
		{"label", "draw QR labels for instruments", label},
		{"plan", "check test programmes before they are run", plan},
		{"users", "list, add, revoke or restore accounts; give a new password", users},
		{"tokens", "list, make or end what other systems are let in by", tokens},
		{"version", "print the version", func(_ []string, _ io.Reader, out, _ io.Writer) error {
			_, err := fmt.Fprintln(out, version())
			return err
		}},
	}
}

// errRefused ends the program with status 2 if the message was already written.
var errRefused = errors.New("refused")

func main() {
	if len(os.Args) > 1 {
		for _, c := range commands() {
			if c.name != os.Args[1] {
				continue
			}
			err := c.run(os.Args[2:], os.Stdin, os.Stdout, os.Stderr)
			switch {
			case errors.Is(err, errRefused):
				os.Exit(2)
			case err != nil:
				fmt.Fprintln(os.Stderr, "gaugewright "+c.name+":", err)
				os.Exit(1)
			}
			return
		}
	}
	fmt.Fprintln(os.Stderr, "usage: gaugewright COMMAND …, with -h for its options")
	for _, c := range commands() {
		fmt.Fprintf(os.Stderr, "  %-8s %s\n", c.name, c.does)
	}
	os.Exit(1)
}
