package api

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"thwart"
)

type metrics struct {
	registry      *prometheus.Registry
	requests      *prometheus.CounterVec
	seconds       *prometheus.HistogramVec
	entries       *prometheus.CounterVec
	verdicts      *prometheus.CounterVec
	signIns       *prometheus.CounterVec
	badSignatures prometheus.Counter
	streams       prometheus.Gauge
}

func newMetrics() *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "thwart_http_requests_total", Help: "Requests by operation and status."},
			[]string{"operation", "method", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "thwart_http_request_seconds", Help: "Seconds from the first byte of a request to the end of the answer.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10}}, []string{"operation"}),
		entries: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "thwart_sync_entries_total", Help: "Entries that phones sent, by what became of them."},
			[]string{"result"}),
		verdicts: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "thwart_verdicts_checked_total", Help: "Verdicts computed again on arrival: agrees, differs or unresolved."},
			[]string{"result"}),
		signIns: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "thwart_sign_ins_total", Help: "Sign-ins: right, wrong or locked."},
			[]string{"result"}),
		badSignatures: prometheus.NewCounter(prometheus.CounterOpts{Name: "thwart_bad_signatures_total", Help: "Requests whose signature did not fit the phone they named."}),
		streams:       prometheus.NewGauge(prometheus.GaugeOpts{Name: "thwart_event_streams", Help: "Open event streams."}),
	}
	m.registry.MustRegister(m.requests, m.seconds, m.entries, m.verdicts, m.signIns, m.badSignatures, m.streams,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// seen is what is known about a request once it has been answered. It travels in the context because the handler that knows
// the operation runs inside the one that writes the log.
type seen struct {
	id, operation, role string
}

type seenKey struct{}

func setRoute(ctx context.Context, operation string) {
	if s, ok := ctx.Value(seenKey{}).(*seen); ok {
		s.operation = operation
	}
}

func setRole(ctx context.Context, role string) {
	if s, ok := ctx.Value(seenKey{}).(*seen); ok {
		s.role = role
	}
}

func requestID(ctx context.Context) string {
	if s, ok := ctx.Value(seenKey{}).(*seen); ok {
		return s.id
	}
	return ""
}

func named(name string, h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		setRoute(r.Context(), name)
		h.ServeHTTP(w, r)
	})
}

// recorder notes what is written. It hands everything else on, so that streams can flush.
type recorder struct {
	http.ResponseWriter
	status int
	bytes  int64
}

func (w *recorder) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *recorder) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += int64(n)
	return n, err
}

func (w *recorder) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *recorder) Flush() { _ = http.NewResponseController(w.ResponseWriter).Flush() }

func (w *recorder) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	return http.NewResponseController(w.ResponseWriter).Hijack()
}

// observe counts, times and logs every request, and turns a panic into an answer. The log names operations and roles, never
// people, addresses, paths or bodies.
func (a *API) observe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		s := &seen{id: NewID(a.cfg.Now()), operation: "none"}
		rec := &recorder{ResponseWriter: w}
		rec.Header().Set("X-Request-Id", s.id)
		defer func() {
			cause := recover()
			// A panic while writing means that the client is gone: the HTTP library panics when an answer cannot be written.
			gone := cause != nil && (cause == http.ErrAbortHandler || r.Context().Err() != nil)
			switch {
			case cause == nil || gone:
			case rec.status == 0:
				writeProblem(rec, problem(http.StatusInternalServerError, "the server failed; nothing of the request is to be taken as done"))
				fallthrough
			default:
				a.cfg.Log.Error("a request failed", "operation", s.operation, "request", s.id, "cause", fmt.Sprint(cause), "stack", string(debug.Stack()))
			}
			took := time.Since(start)
			status := strconv.Itoa(rec.status)
			if gone {
				status = "gone"
			}
			a.metrics.requests.WithLabelValues(s.operation, knownMethod(r.Method), status).Inc()
			a.metrics.seconds.WithLabelValues(s.operation).Observe(took.Seconds())
			a.cfg.Log.Info("request", "operation", s.operation, "method", knownMethod(r.Method), "status", status, "bytes", rec.bytes,
				"ms", float64(took.Microseconds())/1000, "role", s.role, "request", s.id)
			if gone {
				// Let the connection be closed: the answer is not whole.
				panic(http.ErrAbortHandler)
			}
		}()
		next.ServeHTTP(rec, r.WithContext(context.WithValue(r.Context(), seenKey{}, s)))
	})
}

// knownMethod keeps invented methods from becoming labels without number.
func knownMethod(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return m
	}
	return "other"
}

// headers sets what a browser is told about every answer.
func (a *API) headers(next http.Handler) http.Handler {
	const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; " +
		"font-src 'self'; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(self), microphone=(), payment=(), usb=()")
		h.Set("Cache-Control", "no-store")
		if a.https(r) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		if a.cfg.Demo {
			h.Set("X-Thwart-Demo", "invented records")
		}
		next.ServeHTTP(w, r)
	})
}

// held keeps a whole answer back until its tag is known.
type held struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (w *held) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
}

func (w *held) Write(b []byte) (int, error) {
	w.WriteHeader(http.StatusOK)
	return w.body.Write(b)
}

// withETag gives every answer to a GET of the API an entity tag made from its bytes, and answers 304 where the caller has
// them. A handler that has set a tag of its own keeps it as the first part, so that it can be used with If-Match.
func withETag(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet || !strings.HasPrefix(r.URL.Path, "/api/") || r.URL.Path == eventsPath || r.URL.Path == openDataPath ||
			r.URL.Path == tilesPath || strings.HasPrefix(r.URL.Path, exportPath) {
			next.ServeHTTP(w, r)
			return
		}
		h := &held{ResponseWriter: w}
		next.ServeHTTP(h, r)
		if h.status == http.StatusOK {
			sum := sha256.Sum256(h.body.Bytes())
			tag := hex.EncodeToString(sum[:12])
			if own := strings.Trim(w.Header().Get("ETag"), `"`); own != "" {
				tag = own + "." + tag
			}
			tag = `"` + tag + `"`
			w.Header().Set("ETag", tag)
			w.Header().Set("Cache-Control", "private, no-cache")
			for _, have := range strings.Split(r.Header.Get("If-None-Match"), ",") {
				if strings.TrimPrefix(strings.TrimSpace(have), "W/") == tag {
					w.Header().Del("Content-Type")
					w.WriteHeader(http.StatusNotModified)
					return
				}
			}
		}
		if h.status != 0 {
			w.WriteHeader(h.status)
		}
		if _, err := w.Write(h.body.Bytes()); err != nil {
			panic(http.ErrAbortHandler)
		}
	})
}

func (a *API) routePages() error {
	docs, err := a.docs()
	if err != nil {
		return err
	}
	page, err := docs.operations(a.huma.OpenAPI())
	if err != nil {
		return err
	}
	serve := func(kind string, b []byte) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", kind)
			w.Header().Set("Cache-Control", "no-cache")
			_, _ = w.Write(b)
		}
	}
	a.mux.Handle("GET /api", named("page", serve("text/html; charset=utf-8", page)))
	a.mux.Handle("GET /api/records/{name}", named("page", http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		page, err := docs.record(r.PathValue("name"))
		if p := (*Problem)(nil); errors.As(err, &p) {
			writeProblem(w, p)
			return
		}
		if err != nil {
			a.cfg.Log.ErrorContext(r.Context(), "a page of the API cannot be written", "error", err)
			writeProblem(w, problem(http.StatusInternalServerError, "the page cannot be written"))
			return
		}
		serve("text/html; charset=utf-8", page)(w, r)
	})))
	a.mux.Handle("GET /api/openapi.json", named("openapi", serve("application/json", a.spec)))
	a.mux.Handle("GET /paper.css", named("page", serve("text/css; charset=utf-8", paperCSS)))
	a.mux.Handle("GET /healthz", named("healthz", http.HandlerFunc(a.healthz)))
	a.mux.Handle("GET /readyz", named("readyz", http.HandlerFunc(a.readyz)))
	a.mux.Handle("GET /metrics", named("metrics", a.onlyOperators(promhttp.HandlerFor(a.metrics.registry, promhttp.HandlerOpts{}))))
	return nil
}

func (a *API) healthz(w http.ResponseWriter, r *http.Request) {
	if a.cfg.Healthy != nil {
		ctx, cancel := context.WithTimeout(r.Context(), 2*time.Second)
		defer cancel()
		if err := a.cfg.Healthy(ctx); err != nil {
			a.cfg.Log.ErrorContext(ctx, "the store is not well", "error", err)
			writeProblem(w, problem(http.StatusServiceUnavailable, "the store cannot be reached").retryAfter(5))
			return
		}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprintln(w, "well")
}

func (a *API) readyz(w http.ResponseWriter, r *http.Request) {
	if a.draining.Load() {
		writeProblem(w, problem(http.StatusServiceUnavailable, "this server is going down").retryAfter(5))
		return
	}
	a.healthz(w, r)
}

// onlyOperators lets in callers on the same machine, and accounts that may read the audit trail.
func (a *API) onlyOperators(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ip := net.ParseIP(a.address(r))
		p := who(r.Context())
		if ip != nil && ip.IsLoopback() || p != nil && p.device == nil && p.may(thwart.CanAudit) {
			next.ServeHTTP(w, r)
			return
		}
		writeProblem(w, problem(http.StatusForbidden, "accepted: a caller on the same machine, or a sign-in that may read the audit trail"))
	})
}
