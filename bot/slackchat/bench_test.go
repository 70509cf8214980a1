package slackchat

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"sidewall/bot/slackchat/fakeslack"
)

// BenchmarkLatency asks 50 times a second and measures from the moment at which
// Slack sends the event to the moment at which it has the reply. The budget is
// 5 ms at the median and 25 ms at p99, on an idle machine; sleeping workers,
// the wait for the disk and both ways over loopback are in it.
func BenchmarkLatency(b *testing.B) {
	const channels = 10
	r := newRig(b, false, change{})
	for i := range channels {
		r.slack.AddChannel(fmt.Sprintf("D9%d", i), fakeslack.IM, fmt.Sprintf("U9%d", i))
	}
	questions := []string{"can U11s body check?", "U11 attack, 45-inch stick?", "how long are U13 quarters?"}
	type asked struct {
		channel, ts string
		at          time.Time
	}
	var all []asked
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	b.ResetTimer()
	for i := range b.N {
		<-tick.C
		a := asked{channel: fmt.Sprintf("D9%d", i%channels), at: time.Now()}
		a.ts = r.slack.Post(a.channel, fmt.Sprintf("U9%d", i%channels), questions[i%len(questions)], fakeslack.PostOptions{})
		all = append(all, a)
	}
	last := all[len(all)-1]
	r.wait("the last reply", func() bool { return len(r.slack.Replies(last.channel, last.ts)) == 1 })
	r.settled()
	b.StopTimer()
	took := make([]time.Duration, len(all))
	for i, a := range all {
		m := r.slack.Replies(a.channel, a.ts)
		if len(m) != 1 {
			b.Fatalf("%d replies", len(m))
		}
		took[i] = m[0].At.Sub(a.at)
	}
	slices.Sort(took)
	ms := func(p int) float64 {
		return float64(took[min(len(took)*p/100, len(took)-1)].Microseconds()) / 1000
	}
	b.ReportMetric(ms(50), "ms-median")
	b.ReportMetric(ms(99), "ms-p99")
	b.ReportMetric(0, "ns/op") // the ticker's
}
