package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/VictoriaMetrics/metrics"

	"sidewall/bot"
)

// meter counts what the bot and its chats do, for Prometheus to read, and knows
// from that whether they are ready. Its labels are names of the program's own,
// never words, people or channels.
type meter struct {
	set      *metrics.Set
	help     map[string]string // what a metric says, by its name
	health   *health
	events   counters
	unkept   counters
	answers  counters
	stages   histograms
	took     histograms
	retries  counters
	requests counters
	limits   counters
	connects counters
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
	metrics.ExposeMetadata(true) // the library has no other switch for the TYPE lines than the process's; nothing turns it off
	m := &meter{set: metrics.NewSet(), help: map[string]string{}, health: newHealth()}
	counter := func(name, help string, labels ...string) counters {
		return counters{set: m.set, family: m.family(name, help, labels...)}
	}
	histogram := func(name, help string, buckets []float64, labels ...string) histograms {
		return histograms{set: m.set, family: m.family(name, help, labels...), buckets: buckets}
	}
	m.events = counter("events_total", "Events that were finished, by what became of them.", labelChat, labelBecame)
	m.unkept = counter("events_not_kept_total", "Events that could not be kept, so that the chat has to send them again.", labelChat)
	m.answers = counter("answers_total", "Answers that were given, by topic, kind and verdict; the bot's own words are not among them.",
		labelTopic, labelKind, labelVerdict)
	m.stages = histogram("stage_duration_seconds", "How long a stage of an event's way took.",
		metrics.ExponentialBuckets(50e-6, 3, 12), labelStage) // 50 µs to 9 s; a stage is cut off at 15 s
	m.took = histogram("event_duration_seconds", "From an event's acceptance to its end, waiting included.",
		[]float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 15, 60, 600}, labelChat)
	m.retries = counter("chat_retries_total", "Answers that a chat did not take at once, and that are tried again.", labelChat)
	m.requests = counter("chat_requests_total", "Requests to a chat's server, by how they went.", labelChat, labelOutcome)
	m.limits = counter("chat_rate_limits_total", "Requests that a chat's server asked to wait with.", labelChat)
	m.connects = counter("chat_connects_total", "Connections to a chat that were opened; those beyond the first ones are reconnects.", labelChat)

	v, revision := built()
	info := m.family("build_info", "Always 1; the labels say which program runs.", "revision", "version")
	m.set.NewGauge(info.of(revision, v), func() float64 { return 1 })
	for _, name := range bot.StageNames() { // a stage that never ran is seen too
		m.stages.with(name)
	}
	return m
}

// family is one metric: a name, and the names of its labels.
type family struct {
	name   string
	labels []string
}

// family makes one that is the program's own.
func (m *meter) family(name, help string, labels ...string) family {
	name = "sidewall_" + name
	m.help[name] = help
	return family{name: name, labels: labels}
}

// of is the name with a value for each label, as the text format writes it.
func (f family) of(values ...string) string {
	if len(f.labels) == 0 {
		return f.name
	}
	b := append([]byte(f.name), '{')
	for i, label := range f.labels {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(b, label...), `="`...)
		b = append(append(b, escaped(values[i])...), '"')
	}
	return string(append(b, '}'))
}

// inQuotes are the text format's escapes. It knows no others, so that
// strconv.Quote would not do.
var inQuotes = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`)

// escaped is a label's value as it stands between its quotes.
func escaped(value string) string {
	return inQuotes.Replace(strings.ToValidUTF8(value, "\uFFFD"))
}

// counters are a counter for each of the labels' values.
type counters struct {
	family
	set *metrics.Set
}

func (c counters) with(values ...string) *metrics.Counter {
	return c.set.GetOrCreateCounter(c.of(values...))
}

// histograms are a histogram for each of the labels' values.
type histograms struct {
	family
	set     *metrics.Set
	buckets []float64 // upper bounds
}

func (h histograms) with(values ...string) *metrics.PrometheusHistogram {
	return h.set.GetOrCreatePrometheusHistogramExt(h.of(values...), h.buckets)
}

// observe leaves a clock that was set back out of the sum, and counts it still.
func (h histograms) observe(took time.Duration, values ...string) {
	h.with(values...).Update(max(0, took).Seconds())
}

// writeTo writes all numbers, and with them those of the process.
func (m *meter) writeTo(w io.Writer) error {
	var b bytes.Buffer
	m.set.WritePrometheus(&b)
	metrics.WriteProcessMetrics(&b)
	metrics.WriteFDMetrics(&b)
	const helpLine = "# HELP "
	for line := range bytes.Lines(b.Bytes()) {
		// The library's HELP lines are empty: ours are filled in, the others say nothing.
		if name, ok := bytes.CutPrefix(bytes.TrimSuffix(line, []byte("\n")), []byte(helpLine)); ok {
			help := m.help[string(name)]
			if help == "" {
				continue
			}
			line = fmt.Appendf(nil, helpLine+"%s %s\n", name, help)
		}
		if _, err := w.Write(line); err != nil {
			return err
		}
	}
	return nil
}

// addChat makes a chat's counters, so that they are there before they count.
func (m *meter) addChat(name string) {
	for _, c := range []counters{m.unkept, m.retries, m.limits, m.connects} {
		c.with(name)
	}
	m.took.with(name)
	m.health.add(name)
}

// Taken satisfies bot.Observer.
func (m *meter) Taken(platform string, err error) {
	if err != nil {
		m.unkept.with(platform).Inc()
	}
}

// Stage satisfies bot.Observer.
func (m *meter) Stage(name string, took time.Duration, err error) {
	m.stages.observe(took, name)
	if name == bot.StageAccept || name == bot.StageFinish {
		m.health.stored(err)
	}
}

// Waits satisfies bot.Observer.
func (m *meter) Waits(platform string) { m.retries.with(platform).Inc() }

// Finished satisfies bot.Observer.
func (m *meter) Finished(platform string, became bot.State, g bot.Given, took time.Duration) {
	m.events.with(platform, became.String()).Inc()
	m.took.observe(took, platform)
	if became == bot.Replied && g != (bot.Given{}) {
		m.answers.with(g.Topic, g.Kind, g.Verdict).Inc()
	}
}

// connected tells that a chat's connection was opened.
func (m *meter) connected(platform string) {
	m.connects.with(platform).Inc()
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
		w.m.limits.with(w.platform).Inc()
	case resp.StatusCode >= http.StatusBadRequest:
		outcome = outcomeRefused
	}
	w.m.requests.with(w.platform, outcome).Inc()
	w.m.health.reached(w.platform, outcome != outcomeFailed)
	return resp, err
}

// CloseIdleConnections lets http.Client reach the transport behind.
func (w *watched) CloseIdleConnections() {
	if c, ok := w.next.(interface{ CloseIdleConnections() }); ok {
		c.CloseIdleConnections()
	}
}

// looked is what is looked at when the numbers are read.
type looked struct {
	desk   func() bot.Desk
	missed func(ctx context.Context, since time.Time) ([]bot.Missed, error)
	inHand func() int
	now    func() time.Time
	log    *slog.Logger

	info, age, open, hand family

	mu       sync.Mutex
	revision string
	since    time.Time // when the revision was first seen here
}

// look adds what is looked at to the numbers.
func (m *meter) look(l *looked) {
	l.info = m.family("book_info", "Always 1; the labels say which book answers.", "revision", "season")
	l.age = m.family("book_age_seconds", "How long this revision of the book has answered in this process.")
	l.open = m.family("open_questions", "Questions that the book did not answer, by why they are open.", "why")
	l.hand = m.family("events_in_hand", "Events that were accepted and are not finished.")
	l.took(l.desk().Book().Revision)
	m.set.RegisterMetricsWriter(l.writeTo)
}

// missedWithin bounds how long the reading of the numbers waits for the state file.
const missedWithin = 2 * time.Second

// writeTo writes what is looked at, each time anew.
func (l *looked) writeTo(w io.Writer) {
	begin := func(f family) { metrics.WriteMetadataIfNeeded(w, f.name, "gauge") }
	value := func(f family, v float64, labels ...string) {
		_, _ = fmt.Fprintf(w, "%s %g\n", f.of(labels...), v) // it goes to memory
	}
	gauge := func(f family, v float64, labels ...string) { begin(f); value(f, v, labels...) }
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
	begin(l.open)
	for _, why := range slices.Sorted(maps.Keys(count)) {
		value(l.open, float64(count[why]), why)
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

var _ bot.Observer = (*meter)(nil)
