package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
	"gaugewright/webapp"
)

func serve(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("serve", flag.ContinueOnError)
	f.SetOutput(warn)
	data := f.String("data", "", "the data folder; made if it is not there")
	address := f.String("addr", "localhost:8080", "where to listen")
	cert := f.String("cert", "", "TLS certificate (PEM); phones need TLS")
	key := f.String("key", "", "its key (PEM)")
	proxy := f.Bool("behind-proxy", false, "TLS ends at a proxy in front; plain HTTP is then taken on any address")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if *data == "" {
		return errors.New("--data names no folder")
	}
	if (*cert == "") != (*key == "") {
		return errors.New("--cert and --key go together")
	}
	if err := plainOnlyHere(*address, *cert != "", *proxy); err != nil {
		return err
	}
	s, err := store.Open(*data)
	if err != nil {
		return err
	}
	err = serveStore(s, *address, *cert, *key, *proxy, out)
	return errors.Join(err, s.Close())
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
	return fmt.Errorf("%s can be reached from other machines: give --cert and --key, or --behind-proxy where TLS ends in front", address)
}

func serveStore(s *store.Store, address, cert, key string, proxy bool, out io.Writer) error {
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	if err := firstAdministrator(keeper, out); err != nil {
		return err
	}
	secure := cert != "" || proxy
	h := api.New(api.Deps{Store: s, Keeper: keeper, Client: webapp.Files(), Now: time.Now, Version: version, Secure: secure, Proxy: proxy})
	server := &http.Server{Addr: address, Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	scheme := "http"
	if cert != "" {
		scheme = "https"
	}
	if _, err := fmt.Fprintf(out, "data folder %s\nserving %s://%s\n", s.Dir(), scheme, l.Addr()); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	failed := make(chan error, 1)
	go func() {
		if cert != "" {
			failed <- server.ServeTLS(l, cert, key)
		} else {
			failed <- server.Serve(l)
		}
	}()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		wait, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		return server.Shutdown(wait)
	}
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
