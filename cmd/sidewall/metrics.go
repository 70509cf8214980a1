package main

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"sidewall/bot"
)

// meter counts what the bot and its chats do, for Prometheus to read, and knows
// from that whether they are ready. Its labels are names of the program's own,
// never words, people or channels.
type meter struct {
	reg      *prometheus.Registry
	health   *health
	events   *prometheus.CounterVec
	unkept   *prometheus.CounterVec
	answers  *prometheus.CounterVec
	stages   *prometheus.HistogramVec
	took     *prometheus.HistogramVec
	retries  *prometheus.CounterVec
	requests *prometheus.CounterVec
	limits   *prometheus.CounterVec
	connects *prometheus.CounterVec
}

// The label names.
const (
	labelChat    = "chat"
	labelStage   = "stage"
	labelTopic   = "topic"
	labelKind    = "answer"
	labelVerdict = "verdict"
	labelBecame  = "became"
	labelOutcome = "outcome"
)

// What became of a request to a chat's server.
const (
	outcomeOK      = "ok"
	outcomeLimited = "limited" // asked to wait
	outcomeRefused = "refused" // it would be the same the next time
	outcomeFailed  = "failed"  // broken, or the server's own trouble
)

func newMeter() *meter {
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Name: "sidewall_" + name, Help: help}, labels)
	}
	histogram := func(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
		return prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "sidewall_" + name, Help: help, Buckets: buckets}, labels)
	}
	m := &meter{
		reg:    prometheus.NewRegistry(),
		health: newHealth(),
		events: counter("events_total", "Events that were finished, by what became of them.", labelChat, labelBecame),
		unkept: counter("events_not_kept_total", "Events that could not be kept, so that the chat has to send them again.", labelChat),
		answers: counter("answers_total", "Answers that were given, by topic, kind and verdict; the bot's own words are not among them.",
			labelTopic, labelKind, labelVerdict),
		stages: histogram("stage_duration_seconds", "How long a stage of an event's way took.",
			prometheus.ExponentialBuckets(50e-6, 3, 12), labelStage), // 50 µs to 9 s; a stage is cut off at 15 s
		took: histogram("event_duration_seconds", "From an event's acceptance to its end, waiting included.",
			[]float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 15, 60, 600}, labelChat),
		retries:  counter("chat_retries_total", "Answers that a chat did not take at once, and that are tried again.", labelChat),
		requests: counter("chat_requests_total", "Requests to a chat's server, by how they went.", labelChat, labelOutcome),
		limits:   counter("chat_rate_limits_total", "Requests that a chat's server asked to wait with.", labelChat),
		connects: counter("chat_connects_total", "Connections to a chat that were opened; those beyond the first ones are reconnects.", labelChat),
	}
	m.reg.MustRegister(m.events, m.unkept, m.answers, m.stages, m.took, m.retries, m.requests, m.limits, m.connects,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), buildInfo())
	for _, name := range bot.StageNames() { // a stage that never ran is seen too
		m.stages.WithLabelValues(name)
	}
	return m
}

// addChat makes a chat's counters, so that they are there before they count.
func (m *meter) addChat(name string) {
	for _, c := range []*prometheus.CounterVec{m.unkept, m.retries, m.limits, m.connects} {
		c.WithLabelValues(name)
	}
	m.took.WithLabelValues(name)
	m.health.add(name)
}

// Taken satisfies bot.Observer.
func (m *meter) Taken(platform string, err error) {
	if err != nil {
		m.unkept.WithLabelValues(platform).Inc()
	}
}

// Stage satisfies bot.Observer.
func (m *meter) Stage(name string, took time.Duration, err error) {
	m.stages.WithLabelValues(name).Observe(max(0, took).Seconds())
	if name == bot.StageAccept || name == bot.StageFinish {
		m.health.stored(err)
	}
}

// Waits satisfies bot.Observer.
func (m *meter) Waits(platform string) { m.retries.WithLabelValues(platform).Inc() }

// Finished satisfies bot.Observer.
func (m *meter) Finished(platform string, became bot.State, g bot.Given, took time.Duration) {
	m.events.WithLabelValues(platform, became.String()).Inc()
	m.took.WithLabelValues(platform).Observe(took.Seconds())
	if became == bot.Replied && g != (bot.Given{}) {
		m.answers.WithLabelValues(g.Topic, g.Kind, g.Verdict).Inc()
	}
}

// connected tells that a chat's connection was opened.
func (m *meter) connected(platform string) {
	m.connects.WithLabelValues(platform).Inc()
	m.health.connected(platform)
}

// watch puts the meter between a chat and its server.
func (m *meter) watch(platform string, next http.RoundTripper) http.RoundTripper {
	return &watched{m: m, platform: platform, next: next}
}

type watched struct {
	m        *meter
	platform string
	next     http.RoundTripper
}

func (w *watched) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := w.next.RoundTrip(r)
	outcome := outcomeOK
	switch {
	case err != nil && errors.Is(r.Context().Err(), context.Canceled):
		return resp, err // we hung up
	case err != nil || resp.StatusCode >= http.StatusInternalServerError:
		outcome = outcomeFailed
	case resp.StatusCode == http.StatusTooManyRequests:
		outcome = outcomeLimited
		w.m.limits.WithLabelValues(w.platform).Inc()
	case resp.StatusCode >= http.StatusBadRequest:
		outcome = outcomeRefused
	}
	w.m.requests.WithLabelValues(w.platform, outcome).Inc()
	w.m.health.reached(w.platform, outcome != outcomeFailed)
	return resp, err
}

// CloseIdleConnections lets http.Client reach the transport behind.
func (w *watched) CloseIdleConnections() {
	if c, ok := w.next.(interface{ CloseIdleConnections() }); ok {
		c.CloseIdleConnections()
	}
}

// buildInfo says which program this is.
func buildInfo() prometheus.Collector {
	v, revision := built()
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "sidewall_build_info", Help: "Always 1; the labels say which program runs.",
		ConstLabels: prometheus.Labels{"version": v, "revision": revision}}, func() float64 { return 1 })
}

// looked is what is looked at when the numbers are read.
type looked struct {
	desk   func() bot.Desk
	missed func(ctx context.Context, since time.Time) ([]bot.Missed, error)
	inHand func() int
	now    func() time.Time
	log    *slog.Logger

	info, age, open, hand *prometheus.Desc

	mu       sync.Mutex
	revision string
	since    time.Time // when the revision was first seen here
}

// look adds what is looked at to the numbers.
func (m *meter) look(l *looked) {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("sidewall_"+name, help, labels, nil)
	}
	l.info = desc("book_info", "Always 1; the labels say which book answers.", "revision", "season")
	l.age = desc("book_age_seconds", "How long this revision of the book has answered in this process.")
	l.open = desc("open_questions", "Questions that the book did not answer, by why they are open.", "why")
	l.hand = desc("events_in_hand", "Events that were accepted and are not finished.")
	l.took(l.desk().Book().Revision)
	m.reg.MustRegister(l)
}

// missedWithin bounds how long the reading of the numbers waits for the state file.
const missedWithin = 2 * time.Second

// Describe satisfies prometheus.Collector.
func (l *looked) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{l.info, l.age, l.open, l.hand} {
		to <- d
	}
}

// Collect satisfies prometheus.Collector.
func (l *looked) Collect(to chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	b := l.desk().Book()
	gauge(l.info, 1, b.Revision, b.Season.Name)
	gauge(l.age, l.took(b.Revision).Seconds())
	gauge(l.hand, float64(l.inHand()))
	ctx, cancel := context.WithTimeout(context.Background(), missedWithin)
	defer cancel()
	open, err := l.missed(ctx, time.Time{})
	if err != nil { // the other numbers count all the more
		l.log.Error("the open questions cannot be counted", "error", err)
		return
	}
	count := map[string]int{bot.WhyNone: 0, bot.WhyNeed: 0, bot.WhyMissed: 0}
	for i := range open {
		count[open[i].Why]++
	}
	for why, n := range count {
		gauge(l.open, float64(n), why)
	}
}

// took is how long ago a revision was first seen.
func (l *looked) took(revision string) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.revision != revision {
		l.revision, l.since = revision, l.now()
	}
	return max(0, l.now().Sub(l.since))
}

var (
	_ bot.Observer         = (*meter)(nil)
	_ prometheus.Collector = (*looked)(nil)
)
