package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"strconv"
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
	limitMemory()
	slog.SetDefault(logger(c.Log, warn))
	s, err := openPlant(c, out)
	if err != nil {
		return err
	}
	return errors.Join(serveStore(s, c, out), s.Close())
}

var (
	errNoPlant = errors.New(
		"there is no plant in this folder; is its disk mounted? To begin a new, empty plant there, give --new",
	)
	errIsPlant = errors.New("there is a plant in this folder already; leave --new out")
)

// openPlant opens a data folder. It begins a new plant only on request: a folder that is empty
// because its disk is missing must not be served as one.
func openPlant(c config.Config, out io.Writer) (*store.Store, error) {
	if c.Store != "" {
		return openElsewhere(c, out)
	}
	there, err := store.Look(c.Data)
	switch {
	case err != nil && !(there && c.FallBack):
		return nil, err
	case there && c.New:
		return nil, fmt.Errorf("%s: %w", c.Data, errIsPlant)
	case !there && !c.New:
		return nil, fmt.Errorf("%s: %w", c.Data, errNoPlant)
	case !there:
		if _, err := fmt.Fprintf(out, "NEW, EMPTY PLANT in %s: start it without --new from now on\n", c.Data); err != nil {
			return nil, err
		}
		slog.Warn("a new, empty plant is begun", "folder", c.Data)
	case err != nil:
		if _, err := fmt.Fprintf(out, "the last whole transaction is gone on from: %v\n", err); err != nil {
			return nil, err
		}
		slog.Warn("the last whole transaction is gone on from", "why", err)
	}
	return store.OpenWith(c.Data, store.Options{FallBack: c.FallBack})
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
	secure := c.TLS() || c.BehindProxy
	deps := api.Deps{
		Store: s, Keeper: keeper, Client: webapp.Files(), Now: time.Now, Version: version(),
		Secure: secure, HSTS: secure && !c.OwnCA, RequireSecond: c.RequireSecond,
		PublicURL: c.Origin,
	}
	megabytes, err := strconv.ParseUint(c.PhonesWhole, 10, 32)
	if err != nil {
		return err
	}
	deps.Whole = megabytes * 1_000_000
	if c.BehindProxy {
		deps.Proxies = c.Proxies
	}
	if err := signIns(c, keeper, &deps, out); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	go collect(ctx)
	ending, end := context.WithCancel(context.Background())
	defer end()
	deps.Stopping = ending.Done()
	if c.Upstream != "" {
		f, err := newForwarder(
			s,
			above{address: c.Upstream, name: c.UpstreamName, password: c.UpstreamPassword, ca: c.UpstreamCA},
		)
		if err != nil {
			return err
		}
		deps.OnAccepted, deps.Forwarding, deps.FetchBlob = f.nudge, f.state, f.fetch.Blob
		deps.Refused, deps.Offer = f.hub.Refused, f.offer
		done := make(chan struct{})
		go func() { defer close(done); f.run(ctx) }()
		defer func() { stop(); <-done }() // before the store is closed
	}
	operated, err := operate(ctx, s, c, &deps, out)
	if err != nil {
		return err
	}
	defer func() { stop(); operated.wait() }() // before the store is closed
	deps.Erased = []string{s.Dir()}
	if c.Backups != "" {
		deps.Erased = append(deps.Erased, c.Backups)
	}
	tellOthers(ctx, operated, s, c, keeper, &deps)
	h := api.New(deps)
	socket, err := net.Listen("tcp", c.Address)
	if err != nil {
		return err
	}
	scheme := "http"
	if c.TLS() {
		scheme = "https"
	}
	if c.Store != "" {
		if _, err := fmt.Fprintf(out, "database %s\n", s.Place()); err != nil {
			return errors.Join(err, socket.Close())
		}
	}
	if _, err := fmt.Fprintf(out, "data folder %s\nserving %s://%s\n", s.Dir(), scheme, socket.Addr()); err != nil {
		return err
	}
	main := newServer(h)
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
	go func() { // if the program ends meanwhile, nothing of this is needed
		if err := deps.Office.Warm(); err != nil && ctx.Err() == nil {
			slog.Error("the register could not be read", "error", err)
		}
	}()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		operated.drain(c.Drain)
		end() // end the requests that wait for news
		return endServers(append(servers, operated.figures...), patience, out)
	}
}

// patience is how long running requests may take when the program ends.
const patience = 10 * time.Second

// endServers lets running requests finish, for a while. It cuts off those that have not finished by
// then: their senders send again, and nothing of them was acknowledged.
func endServers(servers []*http.Server, most time.Duration, out io.Writer) (err error) {
	wait, cancel := context.WithTimeout(context.Background(), most)
	defer cancel()
	for _, one := range servers {
		late := one.Shutdown(wait)
		if errors.Is(late, context.DeadlineExceeded) {
			_, said := fmt.Fprintf(out, "requests that took longer than %v were cut off\n", most)
			late = errors.Join(said, one.Close())
		}
		err = errors.Join(err, late)
	}
	return err
}

// newServer returns a server for HTTP/1.1 and HTTP/2, on a plain address too. HTTP/2 header
// compression saves repeated headers.
func newServer(h http.Handler) *http.Server {
	var p http.Protocols
	p.SetHTTP1(true)
	p.SetHTTP2(true)
	p.SetUnencryptedHTTP2(true)
	return &http.Server{Handler: h, Protocols: &p, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
}

// firstAdministrator makes an account if there is none. If no password was given, it makes one up
// and prints it, this once.
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
