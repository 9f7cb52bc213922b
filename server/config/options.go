package config

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/copies"
	"gaugewright/sync/objects"
)

const (
	prefix  = "GAUGEWRIGHT_"
	auto    = "auto"
	nowhere = "none"
)

// option is a row of the table: its flag and variable, its default, how it is checked and stored,
// and whether it is a secret.
type option struct {
	name, fallback, help    string
	demo, serve             bool // only for demo, only for serve
	yesNo, secret, flagOnly bool
	set                     func(*Config, string) error
	get                     func(*Config) string
}

func (o *option) variable() string {
	return prefix + strings.ToUpper(strings.ReplaceAll(o.name, "-", "_"))
}

func (o *option) of(command string) bool {
	return (!o.demo || command == "demo") && (!o.serve || command == "serve")
}

// options is the whole table.
var options = []option{
	text("data", "", "the data folder", isAny, func(c *Config) *string { return &c.Data }),
	forServe(text(
		"store", "",
		"the database that has the plant: postgres://USER@HOST/DATABASE?plant=NAME, for several servers at once; "+
			"photos and files stay in the data folder, which all of them need, or go with --blobs. "+
			"The password belongs into PGPASSWORD",
		isStore, func(c *Config) *string { return &c.Store },
	).shown(func(c *Config) string { return withoutPassword(c.Store) })),
	forServe(text(
		"blobs", "",
		"with --store: the bucket that has photos and files: s3://HOST[:PORT]/BUCKET[/PREFIX][?region=NAME][&tls=no]; "+
			"its keys belong into AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY",
		isBucket, func(c *Config) *string { return &c.Blobs },
	)),
	text("addr", "localhost:8080", "where to listen", isAddress, func(c *Config) *string { return &c.Address }),
	text("cert", "", "TLS certificate (PEM); phones need TLS", isAny, func(c *Config) *string { return &c.Cert }),
	text("key", "", "its key (PEM)", isAny, func(c *Config) *string { return &c.Key }),
	truth(
		"own-ca", "TLS by a private authority made in the data folder; phones must trust it once",
		func(c *Config) *bool { return &c.OwnCA },
	),
	text("acme", "", "TLS by a certificate fetched and renewed (RFC 8555) for this host; it takes the directory's terms as accepted", isHost, func(c *Config) *string { return &c.ACME }),
	text(
		"acme-directory", "", "where --acme fetches it; a public directory if not given", isDirectory,
		func(c *Config) *string { return &c.ACMEDirectory },
	),
	truth(
		"behind-proxy", "TLS ends at a proxy in front; plain HTTP is then taken on any address",
		func(c *Config) *bool { return &c.BehindProxy },
	),
	proxies("trusted-proxy", "127.0.0.0/8,::1/128", "with --behind-proxy: the proxy's addresses (CIDR, by commas); what anybody else says of a sender's address is not believed"),
	truth(
		"require-second", "reviewers and administrators work with a second factor only",
		func(c *Config) *bool { return &c.RequireSecond },
	),
	text(
		"origin", "",
		"what people open in the browser (https://HOST[:PORT]), for passkeys, a provider and the links on labels and certificates; "+
			"known by itself with --acme and on localhost; where it is not known, links lead where the request says",
		isOrigin, func(c *Config) *string { return &c.Origin },
	),
	text(
		"passkey-domain", "",
		"what passkeys are bound to, so that they stay good when the host changes: the host of --origin, or a domain above it; that host if not given",
		isHost, func(c *Config) *string { return &c.PasskeyDomain },
	),
	text(
		"openid-issuer", "",
		"the OpenID Connect provider by which people log in too (https://…), besides their passwords",
		isIssuer, func(c *Config) *string { return &c.OpenIDIssuer },
	),
	text(
		"openid-client", "", "with --openid-issuer: this server's client id there", isAny,
		func(c *Config) *string { return &c.OpenIDClient },
	),
	text(
		"openid-secret-file", "", "with --openid-issuer: the file of its secret there; none for a public client",
		isAny, func(c *Config) *string { return &c.OpenIDSecretFile },
	),
	text(
		"openid-claim", "preferred_username",
		"with --openid-issuer: the claim that has the name by which an account expects its person; email counts only where the provider has verified it",
		isClaim, func(c *Config) *string { return &c.OpenIDClaim },
	),
	truth(
		"openid-second", "with --openid-issuer: the provider asks for a second factor, so that none is asked for here",
		func(c *Config) *bool { return &c.OpenIDSecond },
	),
	text("plain-addr", auto, "with TLS: where plain HTTP tells phones what to do; auto: :8081 with --own-ca, :80 with --acme, else none", isPlainAddress,
		func(c *Config) *string { return &c.PlainAddress }).shown(
		func(c *Config) string { return cmp.Or(c.PlainAddress, nowhere) },
	),
	secret(
		text(
			"first-password", "", "the first administrator's password, where there is no account",
			isPassword, func(c *Config) *string { return &c.FirstPassword },
		),
	),
	text(
		"upstream", "",
		"makes this a hub: the address of the office, or of another hub, that it forwards to", isAny,
		func(c *Config) *string { return &c.Upstream },
	),
	text(
		"upstream-name", "", "with --upstream: the hub's account there, of the role hub", isAny,
		func(c *Config) *string { return &c.UpstreamName },
	),
	text(
		"upstream-ca", "", "with --upstream: the certificate (PEM) of the office's own authority", isAny,
		func(c *Config) *string { return &c.UpstreamCA },
	),
	secret(
		text(
			"upstream-password", "", "with --upstream: its password", isPassword,
			func(c *Config) *string { return &c.UpstreamPassword },
		),
	),
	forServe(
		flagOnly(
			truth("new", "begin a new, empty plant: the folder must hold none", func(c *Config) *bool { return &c.New }),
		),
	),
	forServe(
		flagOnly(
			truth("fall-back", "where check names one of the database's two first pages as broken, or its log as damaged or missing: go on with the last whole transaction", func(c *Config) *bool { return &c.FallBack }),
		),
	),
	forDemo(option{name: "seed", fallback: "1", help: "another number invents another plant",
		set: func(c *Config, s string) (err error) {
			if c.Seed, err = strconv.ParseUint(s, 10, 64); err != nil {
				return errors.New("not a whole number from 0")
			}
			return nil
		},
		get: func(c *Config) string { return strconv.FormatUint(c.Seed, 10) }}),
	forDemo(
		flagOnly(truth("seed-only", "put the plant into the folder and end", func(c *Config) *bool { return &c.SeedOnly })),
	),
	text(
		"metrics-addr", nowhere, "where figures (/metrics) and health are served, apart from the work; best on localhost",
		isPlaceOrNone, func(c *Config) *string { return &c.Metrics },
	).shown(func(c *Config) string { return cmp.Or(c.Metrics, nowhere) }),
	text(
		"phones-whole", "80",
		"up to how many MB of changes a phone holds the whole plant; beyond, a part that its person needs",
		isCount, func(c *Config) *string { return &c.PhonesWhole },
	),
	text("log", "text", "the form of the log: text or json", isLog, func(c *Config) *string { return &c.Log }),
	truth(
		"log-requests", "log every request, not only those that failed here",
		func(c *Config) *bool { return &c.LogRequests },
	),
	truth(
		"log-events", "write each entry of the event log into this log too, for the system to bring elsewhere",
		func(c *Config) *bool { return &c.LogEvents },
	),
	span(
		"drain", "0s", "on ending: how long the server first says that it is not ready", 0, time.Hour,
		func(c *Config) *time.Duration { return &c.Drain },
	),
	text(
		"backup-folder", "", "the folder of scheduled backups, best on another disk; none if not given", isAny,
		func(c *Config) *string { return &c.Backups },
	),
	span(
		"backup-every", "24h", "with --backup-folder: how often", time.Minute, 31*24*time.Hour,
		func(c *Config) *time.Duration { return &c.BackupEvery },
	),
	keep("backup-keep", "days=7,weeks=5,months=12", "with --backup-folder: the newest of how many days, weeks, months stay"),
	text(
		"backup-encrypt-to", "", "with --backup-folder: the recipients (age1…, by commas) who alone can read them",
		isAny, func(c *Config) *string { return &c.BackupTo },
	),
	networks(
		"hooks-allow", "",
		"networks (CIDR, by commas) inside the plant that webhooks may be sent to, by plain HTTP too; others are sent to on the open internet alone",
		func(c *Config) *[]netip.Prefix { return &c.HooksAllow },
	),
	text(
		"mail-server", "", "the mail server (HOST:PORT, such as 587) that messages to people are handed to; none is sent if not given",
		isAddressOrNone, func(c *Config) *string { return &c.MailServer },
	),
	text(
		"mail-from", "", "with --mail-server: whom messages are from", isMailbox,
		func(c *Config) *string { return &c.MailFrom },
	),
	text(
		"mail-user", "", "with --mail-server: the name by which this server logs in there", isAny,
		func(c *Config) *string { return &c.MailUser },
	),
	secret(text("mail-password", "", "with --mail-user: its password", isAny, func(c *Config) *string { return &c.MailPassword })),
	text(
		"mail-tls", "starttls", "with --mail-server: starttls, tls from the first byte (port 465), or none, on this machine itself alone",
		isMailTLS, func(c *Config) *string { return &c.MailTLS },
	),
	span(
		"mail-at", "6h", "with --mail-server: how long after midnight the daily message is written, in whole hours", 0, 23*time.Hour,
		func(c *Config) *time.Duration { return &c.MailAt },
	),
	flagOnly(
		truth(
			"print-config", "print what would be used, secrets masked, and end",
			func(c *Config) *bool { return &c.PrintConfig },
		),
	),
}

// shown prints an option's value in another form than it is stored.
func (o option) shown(get func(*Config) string) option { o.get = get; return o }

func secret(o option) option   { o.secret = true; return o }
func forDemo(o option) option  { o.demo = true; return o }
func forServe(o option) option { o.serve = true; return o }
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

func proxies(name, fallback, help string) option {
	return networks(name, fallback, help, func(c *Config) *[]netip.Prefix { return &c.Proxies })
}

// networks is an option with a list of networks.
func networks(name, fallback, help string, at func(*Config) *[]netip.Prefix) option {
	return option{name: name, fallback: fallback, help: help,
		set: func(c *Config, s string) error {
			*at(c) = nil
			if s == "" && fallback == "" {
				return nil
			}
			for one := range strings.SplitSeq(s, ",") {
				p, err := netip.ParsePrefix(strings.TrimSpace(one))
				if a, no := netip.ParseAddr(strings.TrimSpace(one)); no == nil {
					p, err = netip.PrefixFrom(a, a.BitLen()), nil
				}
				if err != nil {
					return errors.New("not addresses such as 10.0.0.5 or 10.0.0.0/24")
				}
				*at(c) = append(*at(c), p.Masked())
			}
			return nil
		},
		get: func(c *Config) string {
			var list []string
			for _, p := range *at(c) {
				list = append(list, p.String())
			}
			return strings.Join(list, ",")
		}}
}

// span is an option with a duration between two bounds.
func span(name, fallback, help string, least, most time.Duration, at func(*Config) *time.Duration) option {
	return option{name: name, fallback: fallback, help: help,
		set: func(c *Config, s string) error {
			d, err := time.ParseDuration(s)
			if err != nil {
				return errors.New("not a time such as 30s, 15m or 24h")
			}
			if d < least || d > most {
				return fmt.Errorf("not between %v and %v", least, most)
			}
			*at(c) = d
			return nil
		},
		get: func(c *Config) string { return at(c).String() }}
}

func keep(name, fallback, help string) option {
	return option{name: name, fallback: fallback, help: help,
		set: func(c *Config, s string) (err error) {
			c.BackupKeep, err = copies.ReadKeep(s)
			return err
		},
		get: func(c *Config) string { return c.BackupKeep.String() }}
}

func isLog(s string) error {
	if s != "text" && s != "json" {
		return errors.New("text or json")
	}
	return nil
}

func isPlaceOrNone(s string) error {
	if s == nowhere {
		return nil
	}
	return isAddress(s)
}

func isAny(string) error { return nil }

func isStore(s string) error {
	if s != "" && !strings.HasPrefix(s, "postgres://") && !strings.HasPrefix(s, "postgresql://") {
		return errors.New("an address begins with postgres://")
	}
	return nil
}

func isBucket(s string) error {
	if s == "" {
		return nil
	}
	_, err := objects.Parse(s)
	return err
}

// withoutPassword leaves the password out of the address of a database.
func withoutPassword(s string) string {
	scheme, rest, _ := strings.Cut(s, "://")
	at := strings.LastIndex(rest, "@")
	user, _, secret := strings.Cut(rest[:max(at, 0)], ":")
	if !secret {
		return s
	}
	return scheme + "://" + user + rest[at:]
}

func isAddressOrNone(s string) error {
	if s == "" {
		return nil
	}
	return isAddress(s)
}

func isMailbox(s string) error {
	if s == "" {
		return nil
	}
	if _, err := mail.ParseAddress(s); err != nil {
		return errors.New("not an address such as gauges@plant.example")
	}
	return nil
}

func isMailTLS(s string) error {
	if s != "starttls" && s != "tls" && s != "none" {
		return errors.New("starttls, tls or none")
	}
	return nil
}

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
		ok = ok && (s == "" || label != "" && len(label) <= 63 && strings.Trim(
			label, "abcdefghijklmnopqrstuvwxyz0123456789-",
		) == "" && label[0] != '-')
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

func isOrigin(s string) error {
	if s == "" {
		return nil
	}
	u, err := url.Parse(s)
	if err != nil || u.Scheme+"://"+u.Host != s || u.Hostname() == "" || s != strings.ToLower(s) {
		return errors.New("not an address such as https://gauges.example, without anything behind the host or port")
	}
	return safe(u)
}

func isIssuer(s string) error {
	u, err := url.Parse(s)
	switch {
	case s == "":
		return nil
	case err != nil || u.Host == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil:
		return errors.New("not an address such as https://provider.example")
	}
	return safe(u)
}

// safe refuses an address whose traffic others on the way could read or alter.
func safe(u *url.URL) error {
	ip := net.ParseIP(u.Hostname())
	if u.Scheme == "https" || u.Scheme == "http" && (u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()) {
		return nil
	}
	return errors.New("begins with https://; http:// only on this machine itself")
}

func isClaim(s string) error {
	if s == "" || strings.TrimSpace(s) != s {
		return errors.New("not the name of a claim")
	}
	return nil
}

func isPassword(s string) error {
	if s != "" && (len(s) < 10 || len(s) > 256) {
		return errors.New("a password has 10 to 256 characters")
	}
	return nil
}

func isCount(s string) error {
	if n, err := strconv.ParseUint(s, 10, 32); err != nil || n == 0 {
		return errors.New("not a whole number above 0")
	}
	return nil
}
