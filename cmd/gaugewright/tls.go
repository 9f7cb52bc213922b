package main

import (
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/server/config"
	"gaugewright/server/secure"
)

// secured sets up a server's TLS, and returns the handler for plain HTTP beside it, nil for none.
func secured(server *http.Server, c config.Config, dir string, at net.Addr, out io.Writer) (http.Handler, error) {
	_, port, err := net.SplitHostPort(at.String())
	if err != nil {
		return nil, err
	}
	var plain http.Handler
	switch {
	case c.OwnCA:
		a, err := secure.OpenAuthority(filepath.Join(dir, "authority"), time.Now)
		if err != nil {
			return nil, err
		}
		if err := ownAuthority(server, a, out); err != nil {
			return nil, err
		}
		plain = secure.Trust(a, port)
	case c.ACME != "":
		a := secure.NewACME(filepath.Join(dir, "acme"), c.ACME, c.ACMEDirectory, nil)
		server.TLSConfig, plain = a.TLS(), a.Plain(port)
	case c.TLS():
		server.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12}
		plain = secure.Redirect("", port)
	}
	if c.PlainAddress == "" {
		return nil, nil
	}
	return plain, nil
}

// ownAuthority gives a server a certificate of the data folder's own authority, for all names of
// this machine.
func ownAuthority(server *http.Server, a *secure.Authority, out io.Writer) error {
	names, err := secure.Names()
	if err != nil {
		return err
	}
	cert, err := a.Server(names)
	if err != nil {
		return err
	}
	server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	_, err = fmt.Fprintf(out, "certificate for %s\nroot fingerprint %s\n", strings.Join(names, ", "), a.Fingerprint())
	return err
}

// servePlain answers plain HTTP beside the secure server.
func servePlain(h http.Handler, address string, out io.Writer, failed chan<- error) (*http.Server, error) {
	socket, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	server := newServer(h)
	go func() { failed <- server.Serve(socket) }()
	_, err = fmt.Fprintf(out, "plain HTTP tells phones what to do: http://%s/\n", socket.Addr())
	return server, err
}
