package main

import (
	"context"
	"crypto/rand"
	"errors"
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
	"gaugewright/server/config"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
	"gaugewright/webapp"
)

func serve(args []string, _ io.Reader, out, warn io.Writer) error {
	c, err := configured("serve", args, warn)
	if err != nil || c.PrintConfig {
		return errors.Join(err, printed(c, out))
	}
	s, err := store.Open(c.Data)
	if err != nil {
		return err
	}
	return errors.Join(serveStore(s, c, out), s.Close())
}

// configured reads a command's options from its flags and the environment.
func configured(command string, args []string, warn io.Writer) (config.Config, error) {
	c, err := config.Read(command, args, os.Environ(), warn)
	if errors.Is(err, config.ErrShown) {
		return c, errRefused
	}
	return c, err
}

func printed(c config.Config, out io.Writer) error {
	if !c.PrintConfig {
		return nil
	}
	return c.Print(out)
}

func serveStore(s *store.Store, c config.Config, out io.Writer) error {
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		return err
	}
	if err := firstAdministrator(keeper, c.FirstPassword, out); err != nil {
		return err
	}
	deps := api.Deps{Store: s, Keeper: keeper, Client: webapp.Files(), Now: time.Now, Version: version, Secure: c.TLS() || c.BehindProxy, Proxy: c.BehindProxy,
		HSTS: (c.TLS() || c.BehindProxy) && !c.OwnCA}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if c.Upstream != "" {
		f, err := newForwarder(s, above{address: c.Upstream, name: c.UpstreamName, password: c.UpstreamPassword, ca: c.UpstreamCA})
		if err != nil {
			return err
		}
		deps.OnAccepted, deps.Forwarding, deps.FetchBlob = f.nudge, f.state, f.fetch.Blob
		done := make(chan struct{})
		go func() { defer close(done); f.run(ctx) }()
		defer func() { stop(); <-done }() // before the store is closed
	}
	h := api.New(deps)
	socket, err := net.Listen("tcp", c.Address)
	if err != nil {
		return err
	}
	scheme := "http"
	if c.TLS() {
		scheme = "https"
	}
	if _, err := fmt.Fprintf(out, "data folder %s\nserving %s://%s\n", s.Dir(), scheme, socket.Addr()); err != nil {
		return err
	}
	main := patient(h)
	servers := []*http.Server{main}
	failed := make(chan error, 2)
	plain, err := secured(main, c, s.Dir(), socket.Addr(), out)
	if err != nil {
		return errors.Join(err, socket.Close())
	}
	if plain != nil {
		helper, err := servePlain(plain, c.PlainAddress, out, failed)
		if err != nil {
			return errors.Join(err, socket.Close())
		}
		servers = append(servers, helper)
	}
	go func() {
		if c.TLS() {
			failed <- main.ServeTLS(socket, c.Cert, c.Key)
		} else {
			failed <- main.Serve(socket)
		}
	}()
	if _, err := fmt.Fprintln(out, "ready"); err != nil {
		return err
	}
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

// patient answers HTTP/1.1 and HTTP/2, on a plain address too: what is the same in every request and answer then goes over the line once.
func patient(h http.Handler) *http.Server {
	var p http.Protocols
	p.SetHTTP1(true)
	p.SetHTTP2(true)
	p.SetUnencryptedHTTP2(true)
	return &http.Server{Handler: h, Protocols: &p, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
}

// firstAdministrator makes an account where there is none; a password that was not given is made up and printed this once.
func firstAdministrator(k *auth.Keeper, password string, out io.Writer) error {
	list, err := k.Users()
	if err != nil || len(list) > 0 {
		return err
	}
	given := password != ""
	if !given {
		if password, err = change.NewID(rand.Reader); err != nil {
			return err
		}
	}
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return err
	}
	if _, err := k.Add(id, "administrator", auth.Administrator, password); err != nil {
		return err
	}
	if given {
		_, err = fmt.Fprintln(out, "first log-in: name administrator, with the password that was given")
		return err
	}
	_, err = fmt.Fprintf(out, "first log-in: name administrator, password %s\n(shown this once; change it with: gaugewright users password)\n", password)
	return err
}
