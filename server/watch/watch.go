package watch

import (
	"log/slog"
	"net/http"
	"strconv"
	"sync/atomic"
	"time"

	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Watch counts a server's answers and reads the figures of its store.
type Watch struct {
	store    *store.Store
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	active   prometheus.Gauge
	copies   copies
	draining atomic.Bool
	log      *slog.Logger
	all      bool
}

// copies are the figures of the scheduled backups.
type copies struct {
	last, size prometheus.Gauge
	done       *prometheus.CounterVec
}

// Options say where figures come from and what is logged.
type Options struct {
	Store   *store.Store
	Version string
	Log     *slog.Logger
	// Requests logs every request, not only those that the server could not answer.
	Requests bool
	// Waiting returns how much waits for the office above; nil at an office.
	Waiting func() (changes, blobs, refused int, err error)
}

// New returns the watch of a server.
func New(o Options) *Watch {
	r := prometheus.NewRegistry()
	w := &Watch{
		store: o.Store, registry: r, log: o.Log, all: o.Requests,
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "gaugewright_http_requests_total",
			Help: "Requests answered, by method, route and status.",
		}, []string{"method", "route", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "gaugewright_http_request_duration_seconds",
			Help:    "How long answers took, by method and route; streams of news are left out.",
			Buckets: []float64{.001, .003, .01, .03, .1, .3, 1, 3, 10, 30},
		}, []string{"method", "route"}),
		active: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "gaugewright_http_requests_active", Help: "Requests being answered, streams of news included.",
		}),
		copies: copies{
			last: prometheus.NewGauge(prometheus.GaugeOpts{
				Name: "gaugewright_backup_last_success_timestamp_seconds",
				Help: "When the newest scheduled backup was written and read back; 0 for never.",
			}),
			size: prometheus.NewGauge(prometheus.GaugeOpts{
				Name: "gaugewright_backup_last_size_bytes", Help: "The size of the newest scheduled backup.",
			}),
			done: prometheus.NewCounterVec(prometheus.CounterOpts{
				Name: "gaugewright_backups_total", Help: "Scheduled backups, by how they ended.",
			}, []string{"result"}),
		},
	}
	built := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "gaugewright_build_info", Help: "Always 1; the label has the program's version.",
		ConstLabels: prometheus.Labels{"version": o.Version},
	})
	built.Set(1)
	for _, result := range []string{"success", "failure"} {
		w.copies.done.WithLabelValues(result) // so that an alert sees 0 before the first
	}
	r.MustRegister(
		w.requests, w.seconds, w.active, w.copies.last, w.copies.size, w.copies.done, built,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		plant{store: o.Store, waiting: o.Waiting, log: o.Log},
	)
	return w
}

// Backup records the result of a scheduled backup.
func (w *Watch) Backup(at time.Time, size int64, err error) {
	if err != nil {
		w.copies.done.WithLabelValues("failure").Inc()
		return
	}
	w.copies.done.WithLabelValues("success").Inc()
	w.Newest(at, size)
}

// Newest records a backup from an earlier run of the program.
func (w *Watch) Newest(at time.Time, size int64) {
	w.copies.last.Set(float64(at.Unix()))
	w.copies.size.Set(float64(size))
}

// Drain makes the server not ready, so that the proxy in front sends it no new clients.
func (w *Watch) Drain() { w.draining.Store(true) }

// other is the route of requests that no route of the API took: pages and assets.
const other = "/*"

// streams are the routes whose answers last as long as the client listens.
var streams = map[string]bool{"/api/news": true}

// Middleware gives each request an id, counts it and logs it.
func (w *Watch) Middleware() []echo.MiddlewareFunc {
	id := middleware.RequestIDWithConfig(middleware.RequestIDConfig{TargetHeader: echo.HeaderXRequestID})
	count := func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			// A client's own id could be made to look like a line of the log.
			c.Request().Header.Del(echo.HeaderXRequestID)
			w.active.Inc()
			defer w.active.Dec()
			return next(c)
		}
	}
	logged := middleware.RequestLoggerWithConfig(middleware.RequestLoggerConfig{
		HandleError: true, LogMethod: true, LogRoutePath: true, LogStatus: true, LogLatency: true,
		LogRequestID: true, LogResponseSize: true, LogValuesFunc: w.answered,
	})
	return []echo.MiddlewareFunc{count, id, logged}
}

func (w *Watch) answered(c echo.Context, v middleware.RequestLoggerValues) error {
	route, method := v.RoutePath, v.Method
	if route == "" {
		route = other
	}
	if !known[method] {
		method = "other" // a client's arbitrary method must not become a label
	}
	w.requests.WithLabelValues(method, route, strconv.Itoa(v.Status)).Inc()
	if !streams[route] {
		w.seconds.WithLabelValues(method, route).Observe(v.Latency.Seconds())
	}
	level := slog.LevelInfo
	switch {
	case v.Status == http.StatusServiceUnavailable: // the sender is asked to come again
		level = slog.LevelWarn
	case v.Status >= http.StatusInternalServerError:
		level = slog.LevelError
	}
	if level == slog.LevelInfo && !w.all {
		return nil
	}
	line := []any{
		"method", method, "route", route, "status", v.Status, "ms", v.Latency.Milliseconds(),
		"bytes", v.ResponseSize, "request", v.RequestID,
	}
	w.log.Log(c.Request().Context(), level, "request", line...)
	return nil
}

var known = map[string]bool{
	http.MethodGet: true, http.MethodHead: true, http.MethodPost: true, http.MethodPut: true,
	http.MethodDelete: true, http.MethodOptions: true, http.MethodPatch: true,
}

// Figures answers with all figures, in the OpenMetrics format if asked for.
func (w *Watch) Figures() http.Handler {
	return promhttp.HandlerFor(
		w.registry, promhttp.HandlerOpts{EnableOpenMetrics: true, ErrorHandling: promhttp.ContinueOnError},
	)
}
