package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"sync"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/config"
	"gaugewright/server/copies"
	"gaugewright/server/watch"
	"gaugewright/sync/store"

	"filippo.io/age"
)

// logger writes lines for people or for machines.
func logger(form string, to io.Writer) *slog.Logger {
	if form == "json" {
		return slog.New(slog.NewJSONHandler(to, nil))
	}
	return slog.New(slog.NewTextHandler(to, nil))
}

// operated is what runs beside the work for the server's operator: figures, health, backups.
type operated struct {
	watch   *watch.Watch
	figures []*http.Server
	running sync.WaitGroup
}

// operate starts what the options ask for.
func operate(ctx context.Context, s *store.Store, c config.Config, deps *api.Deps, out io.Writer) (*operated, error) {
	o := watch.Options{Store: s, Version: deps.Version, Log: slog.Default(), Requests: c.LogRequests}
	if state := deps.Forwarding; state != nil {
		o.Waiting = func() (changes, blobs, refused int, err error) {
			f, err := state()
			return f.Waiting, f.Blobs, f.Refused, err
		}
	}
	is := &operated{watch: watch.New(o)}
	deps.Watch = is.watch
	if c.LogEvents {
		is.running.Go(func() { is.watch.Events(ctx) })
	}
	if c.Metrics != "" {
		if err := is.serveFigures(c.Metrics, out); err != nil {
			return nil, err
		}
	}
	if c.Backups == "" {
		return is, nil
	}
	plan := copies.Plan{Folder: c.Backups, Every: c.BackupEvery, Keep: c.BackupKeep}
	if c.BackupTo != "" {
		to, err := recipients("--backup-encrypt-to", c.BackupTo)
		if err != nil {
			return nil, err
		}
		plan.Seal = func(w io.Writer) (io.WriteCloser, error) { return age.Encrypt(w, to...) }
	}
	if err := os.MkdirAll(plan.Folder, 0o700); err != nil {
		return nil, fmt.Errorf("--backup-folder: %w", err)
	}
	is.running.Go(func() { plan.Run(ctx, s, slog.Default(), is.watch) })
	return is, nil
}

// serveFigures answers with figures and health on a separate address.
func (o *operated) serveFigures(address string, out io.Writer) error {
	socket, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("--metrics-addr: %w", err)
	}
	paths := http.NewServeMux()
	paths.Handle("GET /metrics", o.watch.Figures())
	paths.Handle("GET /health/live", o.watch.Live())
	paths.Handle("GET /health/ready", o.watch.Ready())
	server := &http.Server{Handler: paths, ReadHeaderTimeout: 10 * time.Second}
	o.figures = append(o.figures, server)
	o.running.Go(func() {
		if err := server.Serve(socket); err != http.ErrServerClosed {
			slog.Error("figures are no longer served", "address", address, "error", err)
		}
	})
	_, err = fmt.Fprintf(out, "figures http://%s/metrics\n", socket.Addr())
	return err
}

// drain reports for a while that the server is not ready, while it still answers.
func (o *operated) drain(long time.Duration) {
	o.watch.Drain()
	if long > 0 {
		slog.Info("ending: this server is no longer ready", "for", long)
		time.Sleep(long)
	}
}

// wait returns when a running backup has ended.
func (o *operated) wait() {
	for _, s := range o.figures {
		_ = s.Close() // it is closed already if the server ended well
	}
	o.running.Wait()
}
