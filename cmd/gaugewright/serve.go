package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/server/secure"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
	"gaugewright/webapp"
)

// listening is how a server is reached.
type listening struct {
	address   string
	cert, key string // TLS from files
	ownCA     bool   // TLS from the plant's own authority
	trust     string // with ownCA: where plain HTTP tells phones what to do
	proxy     bool
}

func (l listening) tls() bool { return l.cert != "" || l.ownCA }

func serve(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("serve", flag.ContinueOnError)
	f.SetOutput(warn)
	var l listening
	data := f.String("data", "", "the data folder; made if it is not there")
	f.StringVar(&l.address, "addr", "localhost:8080", "where to listen")
	f.StringVar(&l.cert, "cert", "", "TLS certificate (PEM); phones need TLS")
	f.StringVar(&l.key, "key", "", "its key (PEM)")
	f.BoolVar(&l.ownCA, "own-ca", false, "TLS by a private authority that is made in the data folder; phones must trust it once")
	f.StringVar(&l.trust, "trust-addr", ":8081", "with --own-ca: where plain HTTP shows how to trust it; empty for nowhere")
	f.BoolVar(&l.proxy, "behind-proxy", false, "TLS ends at a proxy in front; plain HTTP is then taken on any address")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	switch {
	case *data == "":
		return errors.New("--data names no folder")
	case (l.cert == "") != (l.key == ""):
		return errors.New("--cert and --key go together")
	case l.ownCA && (l.cert != "" || l.proxy):
		return errors.New("--own-ca goes neither with --cert nor with --behind-proxy")
	}
	if err := plainOnlyHere(l.address, l.tls(), l.proxy); err != nil {
		return err
	}
	s, err := store.Open(*data)
	if err != nil {
		return err
	}
	return errors.Join(serveStore(s, l, out), s.Close())
}

// plainOnlyHere refuses plain HTTP on an address that other machines can reach: passwords would travel openly, and browsers give a page
// without TLS neither camera nor storage.
func plainOnlyHere(address string, tls, proxy bool) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("--addr: %w", err)
	}
	if tls || proxy || host == "localhost" {
		return nil
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() {
		return nil
	}
	return fmt.Errorf("%s can be reached from other machines: give --own-ca, or --cert and --key, or --behind-proxy where TLS ends in front", address)
}

func serveStore(s *store.Store, l listening, out io.Writer) error {
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	if err := firstAdministrator(keeper, out); err != nil {
		return err
	}
	h := api.New(api.Deps{Store: s, Keeper: keeper, Client: webapp.Files(), Now: time.Now, Version: version, Secure: l.tls() || l.proxy, Proxy: l.proxy})
	socket, err := net.Listen("tcp", l.address)
	if err != nil {
		return err
	}
	scheme := "http"
	if l.tls() {
		scheme = "https"
	}
	if _, err := fmt.Fprintf(out, "data folder %s\nserving %s://%s\n", s.Dir(), scheme, socket.Addr()); err != nil {
		return err
	}
	main := patient(h)
	servers := []*http.Server{main}
	failed := make(chan error, 2)
	if l.ownCA {
		if err := ownAuthority(main, s.Dir(), out); err != nil {
			return errors.Join(err, socket.Close())
		}
		if l.trust != "" {
			helper, err := helpTrust(s.Dir(), l.trust, socket.Addr(), out, failed)
			if err != nil {
				return errors.Join(err, socket.Close())
			}
			servers = append(servers, helper)
		}
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	go func() {
		if l.tls() {
			failed <- main.ServeTLS(socket, l.cert, l.key)
		} else {
			failed <- main.Serve(socket)
		}
	}()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		wait, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		for _, one := range servers {
			err = errors.Join(err, one.Shutdown(wait))
		}
		return err
	}
}

func patient(h http.Handler) *http.Server {
	return &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
}

// ownAuthority gives a server a certificate of the data folder's own authority, for all this machine's names.
func ownAuthority(server *http.Server, dir string, out io.Writer) error {
	a, err := secure.OpenAuthority(filepath.Join(dir, "authority"), time.Now)
	if err != nil {
		return err
	}
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

// helpTrust serves the page that tells a phone how to trust the authority.
func helpTrust(dir, address string, main net.Addr, out io.Writer, failed chan<- error) (*http.Server, error) {
	a, err := secure.OpenAuthority(filepath.Join(dir, "authority"), time.Now)
	if err != nil {
		return nil, err
	}
	_, port, err := net.SplitHostPort(main.String())
	if err != nil {
		return nil, err
	}
	socket, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	server := patient(secure.Trust(a, port))
	go func() { failed <- server.Serve(socket) }()
	_, err = fmt.Fprintf(out, "how a phone trusts it: http://%s/trust\n", socket.Addr())
	return server, err
}

// firstAdministrator makes an account where there is none, and prints its password this once.
func firstAdministrator(k *auth.Keeper, out io.Writer) error {
	list, err := k.Users()
	if err != nil || len(list) > 0 {
		return err
	}
	password, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	if _, err := k.Add(id, "administrator", auth.Administrator, password); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "first log-in: name administrator, password %s\n(shown this once; change it with: gaugewright users add)\n", password)
	return err
}
