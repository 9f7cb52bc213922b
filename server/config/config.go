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

// Config is how a server is run.
type Config struct {
	Data          string         // the data folder
	Address       string         // where the work is served
	Cert, Key     string         // TLS from files
	OwnCA         bool           // TLS by the plant's own authority
	ACME          string         // TLS by a certificate fetched for this host
	ACMEDirectory string         // from where; "" for a public directory
	BehindProxy   bool           // TLS ends in front
	Proxies       []netip.Prefix // with BehindProxy: which addresses in front are believed when they name a sender's
	RequireSecond bool           // reviewers and administrators need a second factor
	Origin        string         // what people open in the browser: https://HOST[:PORT]; "" where it is not known
	PasskeyDomain string         // what passkeys are bound to; "" for the host of Origin
	PlainAddress  string         // where plain HTTP tells phones what to do; "" for nowhere
	FirstPassword string         // of the first administrator; "" for a random one
	Upstream      string         // the office that a hub forwards to; "" at an office
	UpstreamName  string         // the hub's account there
	UpstreamCA    string         // the authority to trust there
	Seed          uint64         // of the invented plant
	SeedOnly      bool           // invent the plant and end
	New           bool           // begin a new, empty plant
	FallBack      bool           // go on with the last whole transaction of a database of whose two first pages one is broken
	PrintConfig   bool           // print what would be used, and end

	Metrics     string        // where figures and health are served; "" for nowhere
	Log         string        // the form of the log: text or json
	LogRequests bool          // a line for every request, not only for those that failed
	Drain       time.Duration // how long the server says that it ends before it does
	Backups     string        // the folder of the scheduled backups; "" for none
	BackupEvery time.Duration
	BackupKeep  copies.Keep
	BackupTo    string // the recipients who alone can read them; "" leaves them readable

	UpstreamPassword string // of that account

	HooksAllow []netip.Prefix // networks of the plant that webhooks may be sent to

	MailServer   string // HOST:PORT that messages to people are handed to; "" for none
	MailFrom     string
	MailUser     string
	MailPassword string
	MailTLS      string        // starttls, tls or none
	MailAt       time.Duration // after midnight, when the daily message is written

	OpenIDIssuer     string // the provider by which people log in too; "" for none
	OpenIDClient     string // this server's name there
	OpenIDSecretFile string // its secret there; "" for a public client
	OpenIDClaim      string // what an account's person is called by there
	OpenIDSecond     bool   // the provider asks for a second factor itself

	from []string // where each option's value came from
}

// TLS says whether the server itself speaks TLS.
func (c *Config) TLS() bool { return c.Cert != "" || c.OwnCA || c.ACME != "" }

var (
	// ErrShown is returned when a message, or the help that was asked for, was written already.
	ErrShown = errors.New("the options were not understood")
	// ErrOption is wrapped when an option, or a set of options, cannot be taken.
	ErrOption = errors.New("the options do not fit")
)

// Read makes a command's options out of its flags, else the environment, else their defaults, and
// checks them one by one and together.
//
// Takes:   the command (serve or demo), its arguments, the environment as NAME=VALUE, and where
// help goes.
// Refuses: ErrShown for flags that are not understood; ErrOption for everything else, a variable of
// ours that is not known included.
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
		if !o.of(command) || o.secret { // a secret on a command line could be read by every user of the machine
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

// check holds the options against each other, and settles what depends on others.
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

// ownOrigin is what people open in the browser where that follows from other options, else "".
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

// Loopback says whether an address can be reached from this machine alone.
func Loopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Print writes every option as a variable of the environment, with its source; secrets are masked.
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
