package config_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"gaugewright/server/config"
)

func read(t *testing.T, command, args string, environ ...string) (config.Config, error) {
	t.Helper()
	return config.Read(command, strings.Fields(args), environ, io.Discard)
}

func TestFlagBeforeEnvironmentBeforeDefault(t *testing.T) {
	env := []string{
		"HOME=/root", "GAUGEWRIGHT_DATA=/from/env", "GAUGEWRIGHT_ADDR=127.0.0.1:1", "GAUGEWRIGHT_SEED=7",
		"GAUGEWRIGHT_FIRST_PASSWORD=quite a secret=",
	}
	c, err := read(t, "demo", "-addr [::1]:2", env...)
	if err != nil {
		t.Fatal(err)
	}
	if c.Data != "/from/env" || c.Address != "[::1]:2" || c.Seed != 7 || c.FirstPassword != "quite a secret=" ||
		c.PlainAddress != "" || c.TLS() {
		t.Errorf("%+v", c)
	}
	var b bytes.Buffer
	if err := c.Print(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`GAUGEWRIGHT_DATA="/from/env"  # environment`, `GAUGEWRIGHT_ADDR="[::1]:2"  # flag`, `GAUGEWRIGHT_KEY=""  # default`, `GAUGEWRIGHT_FIRST_PASSWORD="********"  # environment`} {
		if !strings.Contains(b.String(), want+"\n") {
			t.Errorf("not printed: %s in\n%s", want, b.String())
		}
	}
	if strings.Contains(b.String(), "quite") {
		t.Error("a secret is printed")
	}
}

// TestPrintedIsReadAgain checks that the printed options give the same when read as the
// environment.
func TestPrintedIsReadAgain(t *testing.T) {
	c, err := read(t, "serve", "--data d --addr :8443 --own-ca --plain-addr none")
	if err != nil {
		t.Fatal(err)
	}
	var first, second bytes.Buffer
	if err := c.Print(&first); err != nil {
		t.Fatal(err)
	}
	var env []string
	for line := range strings.Lines(first.String()) {
		line, _, _ = strings.Cut(line, "  #")
		env = append(env, strings.ReplaceAll(line, `"`, ""))
	}
	if c, err = read(t, "serve", "", env...); err != nil {
		t.Fatal(err)
	}
	if err := c.Print(&second); err != nil {
		t.Fatal(err)
	}
	bare := func(b *bytes.Buffer) string {
		return strings.NewReplacer("flag", "", "environment", "", "default", "").Replace(b.String())
	}
	if bare(&first) != bare(&second) {
		t.Errorf("%s\nread again:\n%s", first.String(), second.String())
	}
}

func TestRefused(t *testing.T) {
	for _, tt := range []struct{ command, args, env, want string }{
		{"serve", "", "", "names no folder"},
		{"serve", "--data d", "GAUGEWRIGHT_ADR=x", "GAUGEWRIGHT_ADR"},
		{"serve", "--data d", "GAUGEWRIGHT_PRINT_CONFIG=true", "GAUGEWRIGHT_PRINT_CONFIG"},
		{"serve", "--data d", "GAUGEWRIGHT_ADDR=localhost", `GAUGEWRIGHT_ADDR="localhost": not HOST:PORT`},
		{"serve", "--data d", "GAUGEWRIGHT_ADDR=localhost:80800", "the port is a number"},
		{"serve", "--data d", "GAUGEWRIGHT_OWN_CA=perhaps", "true or false"},
		{"serve", "--data d --addr :8080", "", "from other machines"},
		{"serve", "--data d --addr 192.0.2.1:8080", "", "from other machines"},
		{"serve", "--data d --addr 0.0.0.0:8080", "", "from other machines"},
		{"serve", "--data d --addr plant.local:8080", "", "from other machines"},
		{"serve", "--data d --cert c", "", "go together"},
		{"serve", "--data d --cert c --key k --own-ca", "", "one of"},
		{"serve", "--data d --behind-proxy --own-ca", "", "one of"},
		{"serve", "--data d --plain-addr :80", "", "goes with TLS"},
		{"serve", "--data d --acme plant.example --own-ca", "", "one of"},
		{"serve", "--data d --acme-directory https://ca.example/d", "", "goes with --acme"},
		{"serve", "--data d --blobs s3://h/b", "", "goes with --store"},
		{"serve", "--data d --store postgres://h/d", "GAUGEWRIGHT_BLOBS=https://h/b", "s3://"},
		{"serve", "--data d --acme plant.example", "GAUGEWRIGHT_ACME_DIRECTORY=http://ca.example/d", "https://"},
		{"serve", "--data d", "GAUGEWRIGHT_ACME=10.0.0.1", "not the full name"},
		{"serve", "--data d", "GAUGEWRIGHT_ACME=https://plant.example", "not the full name"},
		{"serve", "--data d", "GAUGEWRIGHT_ACME=plant", "not the full name"},
		{"serve", "--data d", "GAUGEWRIGHT_ACME=plant..example", "not the full name"},
		{"serve", "--data d --openid-issuer https://p.example", "", "go together"},
		{"serve", "--data d --openid-secret-file f", "", "go with --openid-issuer"},
		{
			"serve", "--data d --addr 127.0.0.1:80 --openid-issuer https://p.example --openid-client c", "",
			"needs --origin",
		},
		{"serve", "--data d --addr 127.0.0.1:80 --passkey-domain plant.example", "", "needs --origin"},
		{"serve", "--data d", "GAUGEWRIGHT_ORIGIN=http://plant.example", "https://"},
		{"serve", "--data d", "GAUGEWRIGHT_ORIGIN=https://plant.example/", "without anything behind"},
		{"serve", "--data d", "GAUGEWRIGHT_ORIGIN=plant.example", "without anything behind"},
		{"serve", "--data d", "GAUGEWRIGHT_OPENID_ISSUER=http://p.example", "https://"},
		{"serve", "--data d", "GAUGEWRIGHT_OPENID_ISSUER=https://p.example?a=b", "not an address"},
		{"serve", "--data d", "GAUGEWRIGHT_OPENID_CLAIM=", "name of a claim"},
		{"serve", "--data d more", "", `"more"`},
		{"demo", "--data d", "GAUGEWRIGHT_SEED=-1", "whole number"},
	} {
		c, err := read(t, tt.command, tt.args, tt.env)
		if !errors.Is(err, config.ErrOption) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s %s %s: %v, want %q", tt.command, tt.args, tt.env, err, tt.want)
		}
		if c.Data != "" || c.Address != "" {
			t.Errorf("%s %s %s: something besides the error: %+v", tt.command, tt.args, tt.env, c)
		}
	}
	if _, err := read(t, "serve", "--data d", "GAUGEWRIGHT_FIRST_PASSWORD=tooshort"); err == nil ||
		strings.Contains(err.Error(), "tooshort") {
		t.Errorf("a short password, and not shown: %v", err)
	}
	for _, args := range []string{"--adr x", "--seed 1", "--first-password 0123456789", "-h", "--addr x"} {
		var said bytes.Buffer
		if _, err := config.Read("serve", strings.Fields("--data d "+args), nil, &said); !errors.Is(err, config.ErrShown) || said.Len() == 0 {
			t.Errorf("%s: %v, said %q", args, err, said.String())
		}
	}
}

func TestTaken(t *testing.T) {
	for args, plain := range map[string]string{
		"--addr localhost:0":                         "",
		"--addr 127.0.0.9:8080":                      "",
		"--addr :8080 --behind-proxy":                "",
		"--addr :8443 --own-ca":                      ":8081",
		"--addr :8443 --own-ca --plain-addr none":    "",
		"--addr :8443 --cert c --key k":              "",
		"--addr :8443 --cert c --key k --own-ca=no0": "refused",
		"--addr :443 --acme plant.example":           ":80",
		"--addr :443 --acme plant-2.example --acme-directory https://ca.plant.example/d --plain-addr none": "",
		"--addr :443 --cert c --key k --plain-addr :80":                                                    ":80",
	} {
		c, err := read(t, "serve", "--data d "+args)
		if (err != nil) != (plain == "refused") || err == nil && c.PlainAddress != plain {
			t.Errorf("%s: plain HTTP at %q, %v", args, c.PlainAddress, err)
		}
	}
}

// TestTheOriginIsKnown checks that the origin is derived when other options imply it, and only
// then.
func TestTheOriginIsKnown(t *testing.T) {
	for args, want := range map[string]string{
		"":                                     "http://localhost:8080",
		"--addr localhost:0":                   "",
		"--addr 127.0.0.1:8080":                "",
		"--addr localhost:8080 --behind-proxy": "",
		"--addr :8443 --own-ca":                "",
		"--addr :443 --acme plant.example":     "https://plant.example",
		"--addr :8443 --acme plant.example":    "https://plant.example:8443",
		"--addr :443 --acme a.example --origin https://b.example:99": "https://b.example:99",
	} {
		c, err := read(t, "serve", "--data d "+args)
		if err != nil || c.Origin != want {
			t.Errorf("%s: %q %v", args, c.Origin, err)
		}
	}
}

func TestUpstreamGoesTogether(t *testing.T) {
	c, err := read(
		t, "serve", "-data d -upstream https://office.example -upstream-name north",
		"GAUGEWRIGHT_UPSTREAM_PASSWORD=quite a secret",
	)
	if err != nil || c.Upstream != "https://office.example" || c.UpstreamName != "north" ||
		c.UpstreamPassword != "quite a secret" {
		t.Errorf("%+v, %v", c, err)
	}
	for _, args := range []string{"-upstream https://office.example -upstream-name north", "-upstream-name north", "-upstream-ca root.pem"} {
		if _, err := read(t, "serve", "-data d "+args); !errors.Is(err, config.ErrOption) {
			t.Errorf("%s: %v", args, err)
		}
	}
	if _, err := read(t, "serve", "-data d -upstream-password secret"); !errors.Is(err, config.ErrShown) {
		t.Errorf("a password on the command line: %v", err)
	}
}

// TestMail checks which mail options go together, and that mail never goes unencrypted to another
// machine.
func TestMail(t *testing.T) {
	password := "GAUGEWRIGHT_MAIL_PASSWORD=word"
	for args, env := range map[string][]string{
		"--mail-server post.example:587":                                                    nil,
		"--mail-from a@b.example":                                                           nil,
		"--mail-server post.example:587 --mail-from a@b.example --mail-user u":              nil,
		"--mail-server post.example:587 --mail-from a@b.example":                            {password},
		"--mail-server post.example:587 --mail-from nobody":                                 nil,
		"--mail-server post.example --mail-from a@b.example":                                nil,
		"--mail-server post.example:25 --mail-from a@b.example --mail-tls none":             nil,
		"--mail-server post.example:587 --mail-from a@b.example --mail-tls maybe":           nil,
		"--mail-server post.example:587 --mail-from a@b.example --mail-at 25h":              nil,
		"--hooks-allow 10.0.0.0/8,plant":                                                    nil,
		"--mail-server post.example:587 --mail-from a@b.example --mail-user u --mail-tls x": {password},
	} {
		if c, err := read(t, "serve", "--data d "+args, env...); !errors.Is(err, config.ErrOption) && !errors.Is(err, config.ErrShown) {
			t.Errorf("%s: %+v", args, c)
		}
	}
	c, err := read(t, "serve", "--data d --mail-server localhost:25 --mail-from a@b.example --mail-tls none "+
		"--mail-user u --hooks-allow 10.1.2.3,fd00::/8", password)
	if err != nil || c.MailPassword != "word" || len(c.HooksAllow) != 2 || c.HooksAllow[0].String() != "10.1.2.3/32" {
		t.Errorf("%+v %v", c, err)
	}
}
