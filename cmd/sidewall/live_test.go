package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/answers/book"
	"sidewall/config"
)

// ownBook is a folder with the shipped book.
func ownBook(t testing.TB) *config.Settings {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "ours")
	if err := book.New(dir, config.ShippedBook()); err != nil {
		t.Fatal(err)
	}
	return &config.Settings{Book: dir, Timezone: time.UTC}
}

func opened(t testing.TB, s *config.Settings) *live {
	t.Helper()
	l, err := openLive(t.Context(), s, slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if l.edition.Load().users.Load() > 0 {
			l.close()
		}
	})
	return l
}

func keeping(t testing.TB, s *config.Settings, l *live) *keeper {
	t.Helper()
	k, err := newKeeper(s, l)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func askLive(t testing.TB, l *live, text string) *answer.Answer {
	t.Helper()
	a, err := l.desk().Ask(t.Context(), answers.Request{Text: text, On: 20270410, Lang: "en"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

const stickQuestion = "U11 attack, 45-inch stick?"

// kilts is a summary that no other is like.
func kilts(n int) book.Change {
	return book.PutSummary{ID: "kilts", Text: book.NewSummary{
		ID: "kilts", Title: "Kilts on parade day", Owner: "coach", Reviewed: 20270101, Sources: []string{"common-practice"},
		Questions: []string{"Who wears a kilt on parade day?"}, Text: fmt.Sprintf("## Kilts\n\nWhoever plays the bagpipes wears a kilt on parade day. Edition %d.", n),
	}.File()}
}

const kiltQuestion = "who wears a kilt on parade day?"

func publishNow(t testing.TB, k *keeper, cs ...book.Change) *book.Record {
	t.Helper()
	pr, err := k.pub.Propose(t.Context(), cs...)
	if err != nil {
		t.Fatal(err)
	}
	r, err := k.publish(t.Context(), pr, book.Note{By: "admin"})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestPublishServesAtOnce(t *testing.T) {
	s := ownBook(t)
	s.Contact = "the person in the tent"
	l := opened(t, s)
	k := keeping(t, s, l)
	if a := askLive(t, l, kiltQuestion); len(a.Summaries) > 0 && a.Summaries[0].ID == "kilts" {
		t.Fatal("the book speaks of kilts already")
	}
	start := time.Now()
	r := publishNow(t, k, kilts(1))
	a := askLive(t, l, kiltQuestion)
	took := time.Since(start)
	if len(a.Summaries) == 0 || a.Summaries[0].ID != "kilts" || !strings.Contains(a.Summaries[0].Snippet, "Edition 1") || a.Revision != r.Revision {
		t.Errorf("%s %+v", a.Revision, a.Summaries)
	}
	t.Logf("from propose to the answer with the new text: %v", took)
	if took > time.Second && *soak && !raceEnabled { // other tests may have the cores otherwise
		t.Errorf("it took %v, more than a second", took)
	}
	if got := l.desk().Book().Contact.Name.EN; got != s.Contact {
		t.Errorf("the contact is %q", got)
	}
	// A value as well.
	if a := askLive(t, l, stickQuestion); a.Verdict != answer.NotLegal {
		t.Fatalf("%s", a.Verdict)
	}
	c, err := l.desk().Book().SayValue("U11 short crosse is 37 to 46 from 2027-03-01, league decision of 12 January")
	if err != nil {
		t.Fatal(err)
	}
	publishNow(t, k, c)
	if a := askLive(t, l, stickQuestion); a.Verdict != answer.Legal {
		t.Errorf("%s", a.Verdict)
	}
	if u, err := k.undo(t.Context(), 0, book.Note{By: "admin"}); err != nil || askLive(t, l, stickQuestion).Verdict != answer.NotLegal {
		t.Errorf("%+v %v", u, err)
	}
}

// The folder is edited: what loads serves, what does not is told, and the last
// good book goes on.
func TestWatchedFolder(t *testing.T) {
	s := ownBook(t)
	l := opened(t, s)
	type news struct {
		b   *book.Book
		err error
	}
	heard := make(chan news, 16)
	l.told = func(b *book.Book, err error) { heard <- news{b, err} }
	ctx, stop := context.WithCancel(t.Context())
	var done sync.WaitGroup
	done.Go(func() { l.watch(ctx) })
	defer func() { stop(); done.Wait() }()

	if err := l.warm(ctx); err != nil {
		t.Fatal(err)
	}
	first := l.state()
	name := filepath.Join(s.Book, "sheet/crosse-length.yaml")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	until := func(ok func(news) bool) {
		t.Helper()
		for {
			select {
			case n := <-heard:
				if ok(n) {
					return
				}
			case <-time.After(20 * time.Second):
				t.Fatal("nothing was told")
			}
		}
	}
	// The first look may come after the first edit or before it; either is told.
	write(strings.Replace(string(whole), "[37, 42], unit: in, layer: youth, divisions: [U11]", "[46, 37], unit: in, layer: youth, divisions: [U11]", 1))
	until(func(n news) bool { return n.err != nil && strings.Contains(n.err.Error(), "sheet/crosse-length.yaml:") })
	if st := l.state(); st.Revision != first.Revision || !strings.Contains(st.Wrong, "bounds are swapped") {
		t.Errorf("%+v", st)
	}
	if a := askLive(t, l, stickQuestion); a.Verdict != answer.NotLegal || a.Revision != first.Revision {
		t.Errorf("%s", a.Verdict)
	}
	write(strings.Replace(string(whole), "[37, 42], unit: in, layer: youth, divisions: [U11]", "[37, 46], unit: in, layer: youth, divisions: [U11]", 1))
	until(func(n news) bool { return n.b != nil })
	if st := l.state(); st.Revision == first.Revision || st.Wrong != "" {
		t.Errorf("%+v", st)
	}
	if a := askLive(t, l, stickQuestion); a.Verdict != answer.Legal || a.Revision == first.Revision {
		t.Errorf("%s", a.Verdict)
	}
	write(string(whole))
	until(func(n news) bool { return n.b != nil && n.b.Revision == first.Revision })
}

// While books are swapped no question fails, and none is of two editions.
func TestSwapWhileAsked(t *testing.T) {
	s := ownBook(t)
	l := opened(t, s)
	k := keeping(t, s, l)
	publishNow(t, k, kilts(0))
	var stop atomic.Bool
	var wg sync.WaitGroup
	var revisions sync.Map // edition of the text by revision
	for range 3 {
		wg.Go(func() {
			for !stop.Load() {
				a := askLive(t, l, kiltQuestion)
				if len(a.Summaries) == 0 || a.Summaries[0].ID != "kilts" {
					t.Errorf("%+v", a.Summaries)
					return
				}
				if had, ok := revisions.LoadOrStore(a.Revision, a.Summaries[0].Snippet); ok && had != a.Summaries[0].Snippet {
					t.Errorf("revision %s says %q and %q", a.Revision, had, a.Summaries[0].Snippet)
				}
			}
		})
	}
	swaps := 5
	if testing.Short() {
		swaps = 2
	}
	for n := range swaps {
		publishNow(t, k, kilts(n+1))
	}
	stop.Store(true)
	wg.Wait()
	l.close()
	if _, err := l.desk().Ask(t.Context(), answers.Request{Text: stickQuestion}, nil); err == nil {
		t.Error("a closed desk answers")
	}
}

func TestPreview(t *testing.T) {
	s := ownBook(t)
	k := keeping(t, s, nil)
	b, err := loadBook(t.Context(), s.Book)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.SayValue("U11 long crosse is 49 to 56 from 2027-03-01, league decision of 12 January")
	if err != nil {
		t.Fatal(err)
	}
	pr, err := k.pub.Propose(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	p, err := k.preview(t.Context(), pr, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Contradictions) == 0 || p.Contradictions[0].Name != "prose" || !slices.Contains(p.Contradictions[0].Divisions, "U11") {
		t.Errorf("%v", p.Contradictions)
	}
	if len(p.Changes) != 1 || len(p.Changes["U11"]) != 1 || p.Changes["U11"][0].Is("en") != "49–56 in" {
		t.Errorf("%+v", p.Changes)
	}
	if len(p.Answers) == 0 {
		t.Error("no example would be answered differently")
	}
	for _, a := range p.Answers {
		if a.Before.Headline == a.After.Headline && slices.Equal(a.Before.Detail, a.After.Detail) || a.Division != "U11" {
			t.Errorf("%+v", a)
		}
	}
	// A page that contradicts the sheet: told before it is published; what was
	// wrong before is not told again.
	pr, err = k.pub.Propose(t.Context(), book.PutSummary{ID: "poles", Text: book.NewSummary{
		ID: "poles", Title: "Poles", Topics: []string{"crosse-length"}, Owner: "coach", Reviewed: 20270101, Sources: []string{"common-practice"},
		Text: "## Poles\n\nAt U11 the long crosse is 50 to 60 inches.",
	}.File()})
	if err != nil {
		t.Fatal(err)
	}
	if p, err = k.preview(t.Context(), pr, 0); err != nil || len(p.Contradictions) != 1 || p.Contradictions[0].File != "summaries/poles.md" || len(p.Answers) != 0 {
		t.Errorf("%+v %v", p, err)
	}
	if _, err := newKeeper(&config.Settings{}, nil); err == nil || exitCode(err) != exitUsage {
		t.Errorf("the book in the program is kept: %v", err)
	}
}

func TestGitCommit(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("there is no git here")
	}
	for key, value := range map[string]string{"HOME": t.TempDir(), "GIT_CONFIG_NOSYSTEM": "1", "GIT_AUTHOR_DATE": "", "XDG_CONFIG_HOME": "", "GIT_DIR": "", "GIT_WORK_TREE": ""} {
		t.Setenv(key, value)
		if value == "" {
			os.Unsetenv(key) // Setenv above puts it back
		}
	}
	s := ownBook(t)
	s.BookCommit = true
	k := keeping(t, s, nil)
	pr, err := k.pub.Propose(t.Context(), kilts(1))
	if err != nil {
		t.Fatal(err)
	}
	r, err := k.publish(t.Context(), pr, book.Note{By: "admin"})
	if r == nil || err == nil || !strings.Contains(err.Error(), "is not kept in git") {
		t.Fatalf("%v %v", r, err)
	}
	run := func(args ...string) string {
		t.Helper()
		out, err := git(t.Context(), s.Book, args...)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	run("init", "--quiet")
	run("add", "--all")
	run("-c", "user.name=x", "-c", "user.email=x@example.org", "commit", "--quiet", "--message", "begin")
	other := filepath.Join(s.Book, "notes.txt")
	if err := os.WriteFile(other, []byte("half done"), 0o644); err != nil {
		t.Fatal(err)
	}
	run("add", "notes.txt") // what somebody has staged stays theirs
	publishNow(t, k, kilts(2), book.DeleteSummary{ID: "snacks"})
	if got := run("log", "-1", "--format=%B"); !strings.Contains(got, "summary kilts written; summary snacks deleted") || !strings.Contains(got, "Revision 2 of the book, by admin.") {
		t.Errorf("%s", got)
	}
	if got := run("show", "--name-status", "--format=", "HEAD"); got != "A\thistory/0002.json\nM\tsummaries/kilts.md\nD\tsummaries/snacks.md" {
		t.Errorf("%s", got)
	}
	if got := run("status", "--short", "notes.txt"); !strings.HasPrefix(got, "A") {
		t.Errorf("%s", got)
	}
}

// manyPages is the shipped book with n summaries more.
func manyPages(t testing.TB, n int) *config.Settings {
	t.Helper()
	s := ownBook(t)
	b, err := loadBook(t.Context(), s.Book)
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		of := b.Summaries[i%len(b.Summaries)]
		id := fmt.Sprintf("copy-%d", i)
		text := book.NewSummary{ID: id, Title: of.Title + fmt.Sprintf(", part %d", i), Owner: of.Owner, Reviewed: of.Reviewed, Topics: of.Topics, Sources: of.Sources,
			Questions: of.Questions, Text: fmt.Sprintf("%s\n\nThis is copy word%d of page%d.", of.Body, i, i%977)}.File()
		if err := os.WriteFile(filepath.Join(s.Book, "summaries", id+".md"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// TestReloadOfManyPages: ten thousand summaries are made ready in the background
// in under 15 s, while structured questions go on with a p99 of at most three
// times the quiet one.
func TestReloadOfManyPages(t *testing.T) {
	if !*soak || raceEnabled {
		t.Skip("this measures, and wants both cores: run it with -soak")
	}
	s := manyPages(t, 10_000)
	l := opened(t, s)
	if err := l.edition.Load().Warm(); err != nil {
		t.Fatal(err)
	}
	questions := []string{stickQuestion, "can U11s body check?", "how long are U13 quarters", "U9 field player with a 50 inch pole?", "slashing at 0:40 left, when is he out?"}
	// One question every millisecond, as a busy chat may send them; what is
	// measured is from its coming to its answer, on a goroutine that has to be
	// woken for it as an adapter's is.
	measure := func(until <-chan struct{}, least int) (p50, p99 time.Duration, n int) {
		come, answered := make(chan time.Time), make(chan time.Duration)
		go func() {
			defer close(answered)
			i := 0
			for at := range come {
				askLive(t, l, questions[i%len(questions)])
				i++
				answered <- time.Since(at)
			}
		}()
		var took []time.Duration
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-until:
				if len(took) >= least {
					close(come)
					slices.Sort(took)
					return took[len(took)/2], took[len(took)*99/100], len(took)
				}
			default:
			}
			<-tick.C
			come <- time.Now()
			took = append(took, <-answered)
		}
	}
	quiet := make(chan struct{})
	close(quiet)
	measure(quiet, 1000) // warm

	// Another program may take the cores in the middle of a try; what holds is
	// reached in one of three.
	const tries = 3
	for try := range tries {
		q50, q99, _ := measure(quiet, 3000)
		name := filepath.Join(s.Book, "summaries/copy-0.md")
		if err := os.WriteFile(name, fmt.Appendf(mustRead(t, name), "\nTry %d.\n", try), 0o644); err != nil {
			t.Fatal(err)
		}
		done := make(chan struct{})
		var reload time.Duration
		before := l.state().Revision
		go func() {
			defer close(done)
			start := time.Now()
			b, err := book.LoadDir(t.Context(), s.Book)
			if err == nil {
				err = l.replace(t.Context(), b)
			}
			reload = time.Since(start)
			if err != nil {
				t.Error(err)
			}
		}()
		b50, b99, n := measure(done, 0)
		<-done
		if l.state().Revision == before {
			t.Fatal("the book was not replaced")
		}
		ratio := float64(b99) / float64(q99)
		t.Logf("reload of %d summaries: %v; quiet p50 %v p99 %v; meanwhile p50 %v p99 %v of %d questions: %.1f times", len(l.desk().Book().Summaries), reload.Round(time.Millisecond), q50, q99, b50, b99, n, ratio)
		if reload <= 15*time.Second && ratio <= 3 {
			return
		}
	}
	t.Errorf("in none of %d tries was a reload done in 15 s with a p99 of at most three times the quiet one", tries)
}

func mustRead(t testing.TB, name string) []byte {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

// TestReloadsLeaveNothing: a thousand reloads of a small book (with -soak) take no
// memory and no goroutines with them.
func TestReloadsLeaveNothing(t *testing.T) {
	reloads := 60
	switch {
	case *soak:
		reloads = 1000
	case testing.Short() || raceEnabled:
		reloads = 20
	}
	dir := filepath.Join(t.TempDir(), "small")
	if err := book.New(dir, os.DirFS("../../testdata/books/good/small")); err != nil {
		t.Fatal(err)
	}
	s := &config.Settings{Book: dir, Timezone: time.UTC}
	l := opened(t, s)
	name := filepath.Join(dir, "summaries/first-stick.md")
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	reload := func(n int) {
		t.Helper()
		if err := os.WriteFile(name, append(whole[:len(whole):len(whole)], fmt.Sprintf("\nEdition %d.\n", n)...), 0o644); err != nil {
			t.Fatal(err)
		}
		b, err := book.LoadDir(t.Context(), dir)
		if err != nil {
			t.Fatal(err)
		}
		if err := l.replace(t.Context(), b); err != nil {
			t.Fatal(err)
		}
		askLive(t, l, "which stick should I buy first")
	}
	type footprint struct {
		heap       uint64
		goroutines int
	}
	look := func() footprint {
		var m runtime.MemStats
		for range 3 { // what the first sweep frees may hold what the next frees
			runtime.GC()
		}
		runtime.ReadMemStats(&m)
		return footprint{m.HeapAlloc, runtime.NumGoroutine()}
	}
	warm := reloads / 10
	for n := range warm {
		reload(n)
	}
	before := look()
	for n := range reloads {
		reload(warm + n)
	}
	after := look()
	t.Logf("%d reloads: heap %d to %d KiB, goroutines %d to %d", reloads, before.heap>>10, after.heap>>10, before.goroutines, after.goroutines)
	// One edition more or less may be alive when the garbage is counted.
	if grown := int64(after.heap) - int64(before.heap); grown > 4<<20 {
		t.Errorf("the heap has grown by %d KiB", grown>>10)
	}
	if after.goroutines > before.goroutines+8 {
		t.Errorf("%d goroutines became %d", before.goroutines, after.goroutines)
	}
}
