package watch_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/watch"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

func opened(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() }) // some tests close it
	return s
}

func ask(h http.Handler, method, path string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, nil)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// figures reads the served figures with the parser of the format's own library.
func figures(t *testing.T, w *watch.Watch) map[string]float64 {
	t.Helper()
	p := expfmt.NewTextParser(model.UTF8Validation)
	families, err := p.TextToMetricFamilies(ask(w.Figures(), http.MethodGet, "/metrics").Body)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]float64{}
	for name, f := range families {
		for _, m := range f.Metric {
			key := name
			for _, l := range m.Label {
				key += " " + l.GetName() + "=" + l.GetValue()
			}
			switch {
			case m.Gauge != nil:
				all[key] = m.Gauge.GetValue()
			case m.Counter != nil:
				all[key] = m.Counter.GetValue()
			case m.Histogram != nil:
				all[key] = float64(m.Histogram.GetSampleCount())
			}
		}
	}
	return all
}

func TestRequestsAreCountedByRoute(t *testing.T) {
	var log bytes.Buffer
	w := watch.New(watch.Options{Store: opened(t), Log: slog.New(slog.NewJSONHandler(&log, nil))})
	e := echo.New()
	e.Use(w.Middleware()...)
	e.GET("/api/visits/:id", func(c echo.Context) error { return c.String(http.StatusOK, "as it is") })
	e.GET("/api/broken", func(echo.Context) error { return errors.New("the disk is gone") })
	for _, path := range []string{"/api/visits/a?token=secret", "/api/visits/b", "/api/broken", "/nothing"} {
		if id := ask(e, http.MethodGet, path, echo.HeaderXRequestID, "mine\nfake=1").Header().Get(echo.HeaderXRequestID); id == "" || strings.Contains(id, "mine") {
			t.Errorf("%s: the request's id is %q", path, id)
		}
	}
	ask(e, "BREW", "/api/visits/a")
	got := figures(t, w)
	for key, want := range map[string]float64{
		"gaugewright_http_requests_total method=GET route=/api/visits/:id status=200":   2,
		"gaugewright_http_requests_total method=GET route=/api/broken status=500":       1,
		"gaugewright_http_request_duration_seconds method=GET route=/api/visits/:id":    2,
		"gaugewright_http_requests_total method=other route=/api/visits/:id status=405": 1,
		"gaugewright_http_requests_active":                                              0,
	} {
		if v, ok := got[key]; !ok || v != want {
			t.Errorf("%s is %v (%v), want %v in %v", key, v, ok, want, got)
		}
	}
	var line struct {
		Level, Route, Request string
		Status                int
	}
	if err := json.Unmarshal(log.Bytes(), &line); err != nil || line.Route != "/api/broken" || line.Status != 500 ||
		line.Request == "" {
		t.Errorf("only what failed here is logged, in one line: %v, %s", err, log.String())
	}
}

// TestNothingOfARequestIsLogged: paths contain ids and queries contain search texts; neither is in
// the log.
func TestNothingOfARequestIsLogged(t *testing.T) {
	var log bytes.Buffer
	w := watch.New(watch.Options{Store: opened(t), Log: slog.New(slog.NewTextHandler(&log, nil)), Requests: true})
	e := echo.New()
	e.Use(w.Middleware()...)
	e.GET("/api/visits/:id", func(c echo.Context) error { return c.NoContent(http.StatusNoContent) })
	ask(e, http.MethodGet, "/api/visits/PT-4711?search=Ada", "Authorization", "Bearer abc")
	if got := log.String(); !strings.Contains(got, "route=/api/visits/:id status=204") {
		t.Errorf("logged: %s", got)
	}
	for _, never := range []string{"4711", "Ada", "abc"} {
		if strings.Contains(log.String(), never) {
			t.Errorf("the log has %s: %s", never, log.String())
		}
	}
}

// TestWhoComesAgainIsNoError: an answer that asks to come again is a warning, and one that failed an
// error; what was refused is not logged.
func TestWhoComesAgainIsNoError(t *testing.T) {
	var log bytes.Buffer
	w := watch.New(watch.Options{Store: opened(t), Log: slog.New(slog.NewTextHandler(&log, nil))})
	e := echo.New()
	e.Use(w.Middleware()...)
	for status, want := range map[int]string{
		http.StatusServiceUnavailable: "level=WARN", http.StatusInternalServerError: "level=ERROR",
		http.StatusForbidden: "",
	} {
		route := fmt.Sprint("/", status)
		e.GET(route, func(c echo.Context) error { return c.NoContent(status) })
		log.Reset()
		ask(e, http.MethodGet, route)
		if got := log.String(); !strings.Contains(got, want) || want == "" && got != "" {
			t.Errorf("%d: logged %q, want %q", status, got, want)
		}
	}
}

func TestFiguresOfTheStore(t *testing.T) {
	s := opened(t)
	w := watch.New(watch.Options{Store: s, Version: "1.2.3", Log: slog.Default(),
		Waiting: func() (int, int, int, error) { return 3, 2, 1, nil }})
	if err := os.WriteFile(filepath.Join(s.Dir(), "blobs", strings.Repeat("a", 64)), make([]byte, 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(s.Dir(), "blobs", "arriving-"+strings.Repeat("b", 64)), make([]byte, 10), 0o600); err != nil {
		t.Fatal(err)
	}
	got := figures(t, w)
	for key, want := range map[string]float64{
		"gaugewright_journal_entries": 0, "gaugewright_held_changes": 0, "gaugewright_blobs": 1,
		"gaugewright_blob_bytes": 1010, "gaugewright_forward_waiting_changes": 3, "gaugewright_forward_waiting_blobs": 2,
		"gaugewright_forward_refused_changes": 1, "gaugewright_build_info version=1.2.3": 1,
		"gaugewright_backups_total result=failure": 0,
	} {
		if v, ok := got[key]; !ok || v != want {
			t.Errorf("%s is %v (%v), want %v", key, v, ok, want)
		}
	}
	if got["gaugewright_database_bytes"] < 4096 || got["gaugewright_disk_free_bytes"] <= 0 || got["go_goroutines"] < 1 {
		t.Error("sizes and the runtime's figures are missing:", got)
	}
	at := time.Unix(1_700_000_000, 0)
	w.Backup(at, 5, nil)
	w.Backup(at.Add(time.Hour), 0, errors.New("no room"))
	got = figures(t, w)
	if got["gaugewright_backup_last_success_timestamp_seconds"] != 1_700_000_000 ||
		got["gaugewright_backups_total result=failure"] != 1 {
		t.Error("a failed backup counts as a success:", got)
	}
}

// TestFiguresKeepTheRules checks names and help texts with the linter of the format's own library,
// and asks for the format as a collector does.
func TestFiguresKeepTheRules(t *testing.T) {
	w := watch.New(watch.Options{Store: opened(t), Log: slog.Default()})
	problems, err := promlint.New(ask(w.Figures(), http.MethodGet, "/metrics").Body).Lint()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		if strings.HasPrefix(p.Metric, "gaugewright_") {
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
	answer := ask(w.Figures(), http.MethodGet, "/metrics", "Accept", "application/openmetrics-text; version=1.0.0")
	if !strings.HasPrefix(answer.Header().Get("Content-Type"), "application/openmetrics-text") ||
		!strings.HasSuffix(answer.Body.String(), "# EOF\n") {
		t.Errorf("not OpenMetrics: %s", answer.Header())
	}
}

func TestReady(t *testing.T) {
	s := opened(t)
	w := watch.New(watch.Options{Store: s, Log: slog.Default()})
	state := func() (int, string) {
		answer := ask(w.Ready(), http.MethodGet, "/health/ready")
		return answer.Code, strings.TrimSpace(answer.Body.String())
	}
	if code, text := state(); code != http.StatusOK || text != `{"state":"ready"}` {
		t.Error(code, text)
	}
	w.Drain()
	if code, text := state(); code != http.StatusServiceUnavailable || !strings.Contains(text, "about to end") {
		t.Error(code, text)
	}
	if code := ask(w.Live(), http.MethodGet, "/health/live").Code; code != http.StatusOK {
		t.Error("what drains still lives:", code)
	}
	refuses := false
	broken, err := store.OpenWith(t.TempDir(), store.Options{MaxLog: 1, SyncFolder: func(string) error {
		if refuses {
			return errors.New("input/output error")
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	defer broken.Close()
	refuses = true
	if err := broken.Note(store.Event{Kind: "one"}); err != nil { // it is in the log
		t.Error(err)
	}
	if err := broken.Note(store.Event{Kind: "two"}); err == nil || !strings.Contains(err.Error(), "start the program again") {
		t.Error(err)
	}
	answer := ask(watch.New(watch.Options{Store: broken, Log: slog.Default()}).Ready(), http.MethodGet, "/health/ready")
	if answer.Code != http.StatusServiceUnavailable || !strings.Contains(answer.Body.String(), "did not take a write") {
		t.Error(answer.Code, answer.Body)
	}
	other := watch.New(watch.Options{Store: s, Log: slog.Default()})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	answer = ask(other.Ready(), http.MethodGet, "/health/ready")
	if answer.Code != http.StatusServiceUnavailable || !strings.Contains(answer.Body.String(), "database") {
		t.Error(answer.Code, answer.Body)
	}
}
