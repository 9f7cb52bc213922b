// Package config turns flags and environment into one checked value.
package config

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/copies"
)

// Config says how to run a server.
type Config struct {
	Data          string         // the data folder
	Store         string         // the database that has the plant in place of the folder; "" for the folder
	Blobs         string         // with Store: the bucket that has photos and files; "" for the folder
	Address       string         // where the work is served
	Cert, Key     string         // TLS from files
	OwnCA         bool           // TLS with the plant's own authority
	ACME          string         // TLS with a certificate fetched for this host
	ACMEDirectory string         // from where; "" for a public directory
	BehindProxy   bool           // TLS ends at a proxy in front
	Proxies       []netip.Prefix // with BehindProxy: the proxies whose word on a sender's address is trusted
	RequireSecond bool           // reviewers and administrators need a second factor
	Origin        string         // what people open in the browser: https://HOST[:PORT]; "" if unknown
	PasskeyDomain string         // what passkeys are bound to; "" for the host of Origin
	PlainAddress  string         // where plain HTTP tells phones what to do; "" for none
	FirstPassword string         // of the first administrator; "" for a random one
	Upstream      string         // the office that a hub forwards to; "" at an office
	UpstreamName  string         // the hub's account there
	UpstreamCA    string         // the authority to trust there
	Seed          uint64         // of the invented plant
	SeedOnly      bool           // invent the plant and exit
	New           bool           // begin a new, empty plant
	FallBack      bool           // continue with the last whole transaction of a database with one broken meta page
	PrintConfig   bool           // print what would be used, and exit

	PhonesWhole string        // up to how many MB of changes a phone holds the whole plant
	Metrics     string        // where figures and health are served; "" for none
	Log         string        // the form of the log: text or json
	LogRequests bool          // log every request, not only those that failed
	LogEvents   bool          // log every entry of the event log
	Drain       time.Duration // how long the server announces its end before it ends
	Backups     string        // the folder of the scheduled backups; "" for none
	BackupEvery time.Duration
	BackupKeep  copies.Keep
	BackupTo    string // the only recipients who can read them; "" leaves them readable

	UpstreamPassword string // of that account

	HooksAllow []netip.Prefix // networks of the plant that webhooks may be sent to

	MailServer   string // HOST:PORT that takes messages to people; "" for none
	MailFrom     string
	MailUser     string
	MailPassword string
	MailTLS      string        // starttls, tls or none
	MailAt       time.Duration // after midnight, when the daily message is written

	OpenIDIssuer     string // the provider through which people can also log in; "" for none
	OpenIDClient     string // this server's name there
	OpenIDSecretFile string // its secret there; "" for a public client
	OpenIDClaim      string // the claim that has a person's name there
	OpenIDSecond     bool   // the provider asks for a second factor itself

	from []string // where each option's value came from
}

// TLS reports whether the server itself speaks TLS.
func (c *Config) TLS() bool { return c.Cert != "" || c.OwnCA || c.ACME != "" }

var (
	// ErrShown is returned when a message, or the requested help, was already written.
	ErrShown = errors.New("the options were not understood")
	// ErrOption is wrapped when an option, or a combination of options, is not valid.
	ErrOption = errors.New("the options do not fit")
)

// Read reads a command's options from its flags, the environment and the defaults, in that order,
// and checks them one by one and together.
//
// Takes:   the command (serve or demo), its arguments, the environment as NAME=VALUE, and where
// help goes.
// Refuses: ErrShown for unknown flags; ErrOption for everything else, including an unknown variable
// with our prefix.
func Read(command string, args, environ []string, help io.Writer) (Config, error) {
	c := Config{from: make([]string, len(options))}
	f := flag.NewFlagSet(command, flag.ContinueOnError)
	f.SetOutput(help)
	for i := range options {
		o := &options[i]
		c.from[i] = "default"
		if err := o.set(&c, o.fallback); err != nil {
			return Config{}, fmt.Errorf("%w: the default of --%s: %w", ErrOption, o.name, err)
		}
		if !o.of(command) || o.secret { // a secret on a command line can be read by every user of the machine
			continue
		}
		given := func(s string) error {
			c.from[i] = "flag"
			return o.set(&c, s)
		}
		text := o.help
		if !o.flagOnly {
			text += " (" + o.variable() + ")"
		}
		if o.fallback != "" && !o.yesNo {
			text += "; default " + o.fallback
		}
		if o.yesNo {
			f.BoolFunc(o.name, text, given)
		} else {
			f.Func(o.name, text, given)
		}
	}
	if err := environment(&c, environ); err != nil {
		return Config{}, err
	}
	if err := f.Parse(args); err != nil {
		return Config{}, ErrShown
	}
	if f.NArg() > 0 {
		return Config{}, fmt.Errorf("%w: %q is no option", ErrOption, f.Arg(0))
	}
	if err := c.check(); err != nil {
		return Config{}, err
	}
	return c, nil
}

func environment(c *Config, environ []string) error {
	for _, line := range environ {
		name, value, _ := strings.Cut(line, "=")
		if !strings.HasPrefix(name, prefix) {
			continue
		}
		i := slices.IndexFunc(options, func(o option) bool { return o.variable() == name && !o.flagOnly })
		if i < 0 {
			return fmt.Errorf("%w: the environment has %s, which is no option; -print-config lists them", ErrOption, name)
		}
		if err := options[i].set(c, value); err != nil {
			if options[i].secret {
				return fmt.Errorf("%w: %s: %w", ErrOption, name, err)
			}
			return fmt.Errorf("%w: %s=%q: %w", ErrOption, name, value, err)
		}
		c.from[i] = "environment"
	}
	return nil
}

// check checks the options against each other, and derives those that depend on others.
func (c *Config) check() error {
	refuse := func(format string, a ...any) error {
		return fmt.Errorf("%w: "+format, append([]any{ErrOption}, a...)...)
	}
	if (c.Upstream == "") != (c.UpstreamName == "") || (c.Upstream == "") != (c.UpstreamPassword == "") || c.Upstream == "" && c.UpstreamCA != "" {
		return refuse("--upstream and --upstream-name go together with the variable %sUPSTREAM_PASSWORD; --upstream-ca goes with them", prefix)
	}
	ways := 0
	for _, on := range []bool{c.Cert != "", c.OwnCA, c.ACME != "", c.BehindProxy} {
		if on {
			ways++
		}
	}
	switch {
	case c.Data == "":
		return refuse("--data names no folder")
	case c.Store != "" && c.FallBack:
		return refuse("--fall-back is for data folders, and not for --store")
	case c.Blobs != "" && c.Store == "":
		return refuse("--blobs goes with --store: a data folder has its photos and files itself")
	case (c.Cert == "") != (c.Key == ""):
		return refuse("--cert and --key go together")
	case ways > 1:
		return refuse("give one of --cert with --key, --own-ca, --acme, --behind-proxy")
	case c.ACMEDirectory != "" && c.ACME == "":
		return refuse("--acme-directory goes with --acme")
	case ways == 0 && !Loopback(c.Address):
		return refuse("%s can be reached from other machines, where passwords would travel openly and phones get neither camera nor storage: "+
			"give --own-ca, or --acme, or --cert and --key, or --behind-proxy where TLS ends in front", c.Address)
	}
	if c.Origin == "" {
		c.Origin = c.ownOrigin()
	}
	switch {
	case (c.OpenIDIssuer == "") != (c.OpenIDClient == ""):
		return refuse("--openid-issuer and --openid-client go together")
	case c.OpenIDIssuer == "" && (c.OpenIDSecretFile != "" || c.OpenIDSecond):
		return refuse("--openid-secret-file and --openid-second go with --openid-issuer")
	case c.OpenIDIssuer != "" && c.Origin == "":
		return refuse("--openid-issuer needs --origin: the provider sends people back there")
	case c.PasskeyDomain != "" && c.Origin == "":
		return refuse("--passkey-domain needs --origin")
	}
	switch {
	case (c.MailServer == "") != (c.MailFrom == ""):
		return refuse("--mail-server and --mail-from go together")
	case (c.MailUser == "") != (c.MailPassword == "") || c.MailUser != "" && c.MailServer == "":
		return refuse("--mail-user goes with --mail-server and the variable %sMAIL_PASSWORD", prefix)
	case c.MailServer != "" && c.MailTLS == nowhere && !Loopback(c.MailServer):
		return refuse("--mail-tls none: messages and the password would travel openly to %s", c.MailServer)
	}
	if c.BackupTo != "" && c.Backups == "" {
		return refuse("--backup-encrypt-to goes with --backup-folder")
	}
	if c.Metrics == nowhere {
		c.Metrics = ""
	}
	switch {
	case c.PlainAddress == auto && c.OwnCA:
		c.PlainAddress = ":8081"
	case c.PlainAddress == auto && c.ACME != "":
		c.PlainAddress = ":80"
	case c.PlainAddress == auto || c.PlainAddress == nowhere:
		c.PlainAddress = ""
	case !c.TLS():
		return refuse("--plain-addr goes with TLS")
	}
	return nil
}

// ownOrigin returns what people open in the browser if other options imply it, else "".
func (c *Config) ownOrigin() string {
	host, port, err := net.SplitHostPort(c.Address)
	switch {
	case err != nil || port == "0" || c.BehindProxy:
		return ""
	case c.ACME != "" && port == "443":
		return "https://" + c.ACME
	case c.ACME != "":
		return "https://" + net.JoinHostPort(c.ACME, port)
	case host == "localhost" && !c.TLS():
		return "http://" + c.Address
	}
	return ""
}

// Loopback reports whether an address can be reached from this machine only.
func Loopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Print writes every option as an environment variable, with its source; it masks secrets.
func (c *Config) Print(w io.Writer) error {
	for i, o := range options {
		if o.flagOnly {
			continue
		}
		value := o.get(c)
		if o.secret && value != "" {
			value = "********"
		}
		if _, err := fmt.Fprintf(w, "%s=%s  # %s\n", o.variable(), strconv.Quote(value), c.from[i]); err != nil {
			return err
		}
	}
	return nil
}
