package config

import (
	"cmp"
	"errors"
	"net"
	"net/url"
	"strconv"
	"strings"
)

const (
	prefix  = "GAUGEWRIGHT_"
	auto    = "auto"
	nowhere = "none"
)

// option is one line of the table: its flag and variable, its default, how it is checked and kept, and whether it is a secret.
type option struct {
	name, fallback, help    string
	demo                    bool // goes with demo alone
	yesNo, secret, flagOnly bool
	set                     func(*Config, string) error
	get                     func(*Config) string
}

func (o *option) variable() string {
	return prefix + strings.ToUpper(strings.ReplaceAll(o.name, "-", "_"))
}

func (o *option) of(command string) bool { return !o.demo || command == "demo" }

// options is the whole table.
var options = []option{
	text("data", "", "the data folder; made if it is not there", isAny, func(c *Config) *string { return &c.Data }),
	text("addr", "localhost:8080", "where to listen", isAddress, func(c *Config) *string { return &c.Address }),
	text("cert", "", "TLS certificate (PEM); phones need TLS", isAny, func(c *Config) *string { return &c.Cert }),
	text("key", "", "its key (PEM)", isAny, func(c *Config) *string { return &c.Key }),
	truth("own-ca", "TLS by a private authority made in the data folder; phones must trust it once", func(c *Config) *bool { return &c.OwnCA }),
	text("acme", "", "TLS by a certificate fetched and renewed (RFC 8555) for this host; it takes the directory's terms as accepted", isHost, func(c *Config) *string { return &c.ACME }),
	text("acme-directory", "", "where --acme fetches it; a public directory if not given", isDirectory, func(c *Config) *string { return &c.ACMEDirectory }),
	truth("behind-proxy", "TLS ends at a proxy in front; plain HTTP is then taken on any address", func(c *Config) *bool { return &c.BehindProxy }),
	text("plain-addr", auto, "with TLS: where plain HTTP tells phones what to do; auto: :8081 with --own-ca, :80 with --acme, else none", isPlainAddress,
		func(c *Config) *string { return &c.PlainAddress }).shown(func(c *Config) string { return cmp.Or(c.PlainAddress, nowhere) }),
	secret(text("first-password", "", "the first administrator's password, where there is no account", isPassword, func(c *Config) *string { return &c.FirstPassword })),
	text("upstream", "", "makes this a hub: the address of the office, or of another hub, that it forwards to", isAny, func(c *Config) *string { return &c.Upstream }),
	text("upstream-name", "", "with --upstream: the hub's account there, of the role hub", isAny, func(c *Config) *string { return &c.UpstreamName }),
	text("upstream-ca", "", "with --upstream: the certificate (PEM) of the office's own authority", isAny, func(c *Config) *string { return &c.UpstreamCA }),
	secret(text("upstream-password", "", "with --upstream: its password", isPassword, func(c *Config) *string { return &c.UpstreamPassword })),
	forDemo(option{name: "seed", fallback: "1", help: "another number invents another plant",
		set: func(c *Config, s string) (err error) {
			if c.Seed, err = strconv.ParseUint(s, 10, 64); err != nil {
				return errors.New("not a whole number from 0")
			}
			return nil
		},
		get: func(c *Config) string { return strconv.FormatUint(c.Seed, 10) }}),
	forDemo(flagOnly(truth("seed-only", "put the plant into the folder and end", func(c *Config) *bool { return &c.SeedOnly }))),
	flagOnly(truth("print-config", "print what would be used, secrets masked, and end", func(c *Config) *bool { return &c.PrintConfig })),
}

// shown prints an option's value in another way than it is kept.
func (o option) shown(get func(*Config) string) option { o.get = get; return o }

func secret(o option) option   { o.secret = true; return o }
func forDemo(o option) option  { o.demo = true; return o }
func flagOnly(o option) option { o.flagOnly = true; return o }

func text(name, fallback, help string, check func(string) error, at func(*Config) *string) option {
	return option{name: name, fallback: fallback, help: help,
		set: func(c *Config, s string) error {
			if err := check(s); err != nil {
				return err
			}
			*at(c) = s
			return nil
		},
		get: func(c *Config) string { return *at(c) }}
}

func truth(name, help string, at func(*Config) *bool) option {
	return option{name: name, fallback: "false", help: help, yesNo: true,
		set: func(c *Config, s string) (err error) {
			if *at(c), err = strconv.ParseBool(s); err != nil {
				return errors.New("true or false")
			}
			return nil
		},
		get: func(c *Config) string { return strconv.FormatBool(*at(c)) }}
}

func isAny(string) error { return nil }

func isAddress(s string) error {
	_, port, err := net.SplitHostPort(s)
	if err != nil {
		return errors.New("not HOST:PORT")
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		return errors.New("the port is a number up to 65535")
	}
	return nil
}

func isPlainAddress(s string) error {
	if s == auto || s == nowhere {
		return nil
	}
	return isAddress(s)
}

func isHost(s string) error {
	ok := s == "" || strings.Contains(s, ".") && len(s) <= 253 && net.ParseIP(s) == nil
	for label := range strings.SplitSeq(s, ".") {
		ok = ok && (s == "" || label != "" && len(label) <= 63 && strings.Trim(label, "abcdefghijklmnopqrstuvwxyz0123456789-") == "" && label[0] != '-')
	}
	if !ok {
		return errors.New("not the full name of a host, in small letters")
	}
	return nil
}

func isDirectory(s string) error {
	if u, err := url.Parse(s); s != "" && (err != nil || u.Scheme != "https" || u.Host == "") {
		return errors.New("not an address that begins with https://")
	}
	return nil
}

func isPassword(s string) error {
	if s != "" && (len(s) < 10 || len(s) > 256) {
		return errors.New("a password has 10 to 256 characters")
	}
	return nil
}
