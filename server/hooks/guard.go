package hooks

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"syscall"
	"time"

	"gaugewright/calc/document"
)

// errPrivate is wrapped if an endpoint is at an address to which nothing is sent.
var errPrivate = errors.New("the address lies in a private network; --hooks-allow can name it")

// special are networks without public receivers, beyond those that package netip knows (IANA IPv4
// and IPv6 Special-Purpose Address Registries).
var special = prefixes(
	"0.0.0.0/8", "100.64.0.0/10", "192.0.0.0/24", "192.0.2.0/24", "198.18.0.0/15", "198.51.100.0/24",
	"203.0.113.0/24", "240.0.0.0/4", "64:ff9b::/96", "64:ff9b:1::/48", "100::/64", "2001::/23",
	"2001:db8::/32", "2002::/16", "fec0::/10",
)

func prefixes(list ...string) (all []netip.Prefix) {
	for _, one := range list {
		all = append(all, netip.MustParsePrefix(one))
	}
	return all
}

// guard says to which addresses messages may go.
type guard struct{ allow []netip.Prefix }

// allows reports whether messages may go to an address.
func (g *guard) allows(a netip.Addr) bool {
	a = a.Unmap()
	in := func(p netip.Prefix) bool { return p.Contains(a) }
	if slices.ContainsFunc(g.allow, in) {
		return true
	}
	return a.IsGlobalUnicast() && !a.IsPrivate() && !a.IsLoopback() && !a.IsLinkLocalUnicast() &&
		!slices.ContainsFunc(special, in)
}

// control checks the address that a connection is made to, after the name was resolved.
func (g *guard) control(_, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return err
	}
	if !g.allows(at.Addr()) {
		return fmt.Errorf("%w: %s", errPrivate, at.Addr())
	}
	return nil
}

const patience = 20 * time.Second

// client returns a client for endpoints that uses no proxy and follows no redirect.
func (g *guard) client() *http.Client {
	d := &net.Dialer{Timeout: 10 * time.Second, Control: g.control}
	return &http.Client{
		Timeout: patience,
		Transport: &http.Transport{
			DialContext: d.DialContext, TLSHandshakeTimeout: 10 * time.Second, MaxIdleConnsPerHost: 1,
			IdleConnTimeout: time.Minute, MaxResponseHeaderBytes: 64 << 10, ForceAttemptHTTP2: true,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// check reads the address of an endpoint.
//
// Refuses: a Fault that names it.
func (g *guard) check(address string) error {
	u, err := url.Parse(address)
	no := func(why string) error { return document.Refuse(document.CodeRange, "url", why) }
	switch {
	case err != nil || u.Host == "" || u.Opaque != "" || len(address) > 500:
		return no("is not an address such as https://receiver.example/path")
	case u.User != nil || u.Fragment != "":
		return no("has no name, password or fragment in it")
	}
	a, err := netip.ParseAddr(u.Hostname())
	known := err == nil
	if known && !g.allows(a) {
		return no(errPrivate.Error())
	}
	if u.Scheme == "http" && known && len(g.allow) > 0 && slices.ContainsFunc(
		g.allow, func(p netip.Prefix) bool { return p.Contains(a.Unmap()) },
	) {
		return nil // within the plant, if the configuration allows it
	}
	if u.Scheme != "https" {
		return no("begins with https://")
	}
	return nil
}
