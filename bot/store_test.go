package bot

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"
)

// testStore is what every Store has to pass. open opens the same store again.
func testStore(t *testing.T, open func(t *testing.T) Store) {
	ctx := context.Background()
	at := time.Date(2027, 4, 10, 9, 0, 0, 0, time.UTC)
	must := func(t *testing.T, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	pending := func(key string) *Pending {
		return &Pending{Key: key, Conversation: "fake//C1/m1", Person: "hash", At: at,
			Event: Event{Kind: Message, ID: "e1", Platform: "fake", Channel: "C1", Message: "m1", Text: "45 in?", Back: "trigger", At: at}}
	}

	t.Run("accept once", func(t *testing.T) {
		s := open(t)
		p := pending("k1")
		state, err := s.Accept(ctx, p)
		must(t, err)
		if state != Unseen || p.Ord == 0 {
			t.Fatalf("first: state %d, order %d", state, p.Ord)
		}
		again := pending("k1")
		state, err = s.Accept(ctx, again)
		must(t, err)
		if state != InHand || again.Ord != p.Ord {
			t.Fatalf("second: state %d, order %d, want %d, %d", state, again.Ord, InHand, p.Ord)
		}
		must(t, s.Finish(ctx, &Done{Key: "k1", State: Replied, At: at}))
		for range 2 {
			state, err = s.Accept(ctx, pending("k1"))
			must(t, err)
			if state != Replied {
				t.Fatalf("after the end: state %d", state)
			}
		}
		if state, err := s.State(ctx, "nobody"); err != nil || state != Unseen {
			t.Fatalf("unknown key: %v %v", state, err)
		}
	})

	t.Run("many at once accept one", func(t *testing.T) {
		s := open(t)
		var wg sync.WaitGroup
		var mu sync.Mutex
		fresh := map[string]int{}
		for w := range 8 {
			wg.Go(func() {
				for i := range 25 {
					key := fmt.Sprintf("k%d", (i+w)%25)
					state, err := s.Accept(ctx, pending(key))
					mu.Lock()
					if err != nil {
						t.Error(err)
					}
					if state == Unseen {
						fresh[key]++
					}
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		for key, n := range fresh {
			if n != 1 {
				t.Errorf("%s was new %d times", key, n)
			}
		}
		if len(fresh) != 25 {
			t.Errorf("%d keys were new, want 25", len(fresh))
		}
	})

	t.Run("what is in hand outlives a restart, in order, and its payload goes with the answer", func(t *testing.T) {
		s := open(t)
		for _, k := range []string{"b", "a", "c"} {
			_, err := s.Accept(ctx, pending(k))
			must(t, err)
		}
		must(t, s.Finish(ctx, &Done{Key: "a", State: Silent, At: at}))
		left, err := s.Unfinished(ctx)
		must(t, err)
		if len(left) != 2 || left[0].Key != "b" || left[1].Key != "c" {
			t.Fatalf("in hand: %+v", left)
		}
		want := *pending("b")
		want.Ord = left[0].Ord
		if !reflect.DeepEqual(left[0], want) {
			t.Errorf("it came back as\n%+v\nwant\n%+v", left[0], want)
		}
	})

	t.Run("finish records everything or nothing", func(t *testing.T) {
		s := open(t)
		a := &Answered{Key: "k", Conversation: "v", Platform: "fake", Ref: Ref{"C1", "bot-1", "x"}, Private: true, Lang: "es",
			Person: "hash", Offered: []string{"U9", "U11"}, At: at}
		turn := &Turn{Conversation: "v", Key: "k", Ord: 7, Text: "45 in?", Person: "hash", Verdict: "need", Lang: "en", At: at}
		missed := &Missed{Source: "k", Why: WhyNone, Text: "q", Lang: "en", Topic: "t", Division: "U11", Person: "hash", At: at}
		must(t, s.Finish(ctx, &Done{Key: "k", State: Replied, At: at, Answered: a, Turn: turn, Missed: missed}))
		got, err := s.Answered(ctx, "k")
		must(t, err)
		if !reflect.DeepEqual(got, a) {
			t.Errorf("answered: %+v, want %+v", got, a)
		}
		if got, err = s.AnsweredAt(ctx, "fake", Ref{Channel: "C1", Message: "bot-1"}); err != nil || got.Key != "k" {
			t.Errorf("by place: %+v, %v", got, err)
		}
		if _, err := s.AnsweredAt(ctx, "fake", Ref{}); !errors.Is(err, ErrUnknown) {
			t.Errorf("nowhere: %v", err)
		}
		if _, err := s.Answered(ctx, "other"); !errors.Is(err, ErrUnknown) {
			t.Errorf("unknown: %v", err)
		}
		turns, err := s.Turns(ctx, "v", at)
		must(t, err)
		if len(turns) != 1 || turns[0] != *turn {
			t.Errorf("turns: %+v", turns)
		}
		open, err := s.Missed(ctx, at)
		must(t, err)
		if len(open) != 1 || open[0] != *missed {
			t.Errorf("open: %+v", open)
		}
		// found after all, said in other words
		turn.Text = "46 in?"
		must(t, s.Finish(ctx, &Done{Key: "edit", State: Replied, At: at, Turn: turn, Rewrite: true, Found: "k"}))
		turns, _ = s.Turns(ctx, "v", at)
		open, _ = s.Missed(ctx, at)
		if len(turns) != 1 || turns[0].Text != "46 in?" || len(open) != 0 {
			t.Errorf("after the edit: %+v %+v", turns, open)
		}
		must(t, s.Finish(ctx, &Done{Key: "del", State: Replied, At: at, Withdraw: "k"}))
		turns, _ = s.Turns(ctx, "v", at)
		if state, _ := s.State(ctx, "k"); len(turns) != 0 || state != Withdrew {
			t.Errorf("after the removal: %+v, state %d", turns, state)
		}
		if _, err := s.Answered(ctx, "k"); !errors.Is(err, ErrUnknown) {
			t.Errorf("after the removal: %v", err)
		}
	})

	t.Run("turns come in the order of their messages", func(t *testing.T) {
		s := open(t)
		add := func(key string, ord int64, part int, when time.Time) {
			must(t, s.Finish(ctx, &Done{Key: key + fmt.Sprint(part), State: Replied, At: when,
				Turn: &Turn{Conversation: "fake//C1/m1", Key: key, Ord: ord, Part: part, Text: fmt.Sprint(key, part), Verdict: "info", At: when}}))
		}
		add("q1", 1, 0, at)
		add("q2", 2, 0, at.Add(time.Minute))
		add("q1", 1, 1, at.Add(2*time.Minute)) // a choice completes the first one later
		turns, err := s.Turns(ctx, "fake//C1/m1", at)
		must(t, err)
		var got []string
		for _, x := range turns {
			got = append(got, x.Text)
		}
		if want := "q10 q11 q20"; strings.Join(got, " ") != want {
			t.Errorf("turns %v, want %s", got, want)
		}
		if turns, _ = s.Turns(ctx, "fake//C1/m1", at.Add(3*time.Minute)); len(turns) != 0 {
			t.Errorf("a forgotten conversation has turns: %v", turns)
		}
		if c, err := s.Latest(ctx, "fake//C1", at); err != nil || c != "fake//C1/m1" {
			t.Errorf("latest %q, %v", c, err)
		}
		if c, _ := s.Latest(ctx, "fake//C", at); c != "" {
			t.Errorf("another channel's conversation: %q", c)
		}
		idle, err := s.Idle(ctx, at.Add(3*time.Minute))
		must(t, err)
		if len(idle) != 1 || idle[0].Text != "q20" {
			t.Errorf("idle: %+v", idle)
		}
		if idle, _ = s.Idle(ctx, at); len(idle) != 0 {
			t.Errorf("idle too early: %+v", idle)
		}
	})

	t.Run("bindings", func(t *testing.T) {
		s := open(t)
		if _, err := s.Binding(ctx, "channel/x"); !errors.Is(err, ErrUnknown) {
			t.Fatalf("unknown: %v", err)
		}
		want := Binding{Division: "U11", Position: "attack", By: "hash", At: at}
		must(t, s.Bind(ctx, "channel/x", Binding{Division: "U9", At: at}))
		must(t, s.Bind(ctx, "channel/x", want))
		if got, err := s.Binding(ctx, "channel/x"); err != nil || got != want {
			t.Errorf("%+v, %v", got, err)
		}
		must(t, s.Bind(ctx, "channel/x", Binding{At: at})) // bound to nothing is not unbound
		if got, err := s.Binding(ctx, "channel/x"); err != nil || !got.empty() {
			t.Errorf("%+v, %v", got, err)
		}
		must(t, s.Unbind(ctx, "channel/x"))
		if _, err := s.Binding(ctx, "channel/x"); !errors.Is(err, ErrUnknown) {
			t.Errorf("after unbind: %v", err)
		}
	})

	t.Run("values", func(t *testing.T) {
		s := open(t)
		if v, err := s.Value(ctx, "sync"); err != nil || v != nil {
			t.Fatalf("%q, %v", v, err)
		}
		must(t, s.SetValue(ctx, "sync", []byte("s1")))
		must(t, s.SetValue(ctx, "sync", []byte("s2")))
		if v, err := s.Value(ctx, "sync"); err != nil || string(v) != "s2" {
			t.Fatalf("%q, %v", v, err)
		}
	})

	t.Run("an open question is kept once", func(t *testing.T) {
		s := open(t)
		must(t, s.Miss(ctx, Missed{Source: "k", Text: "first", At: at}))
		must(t, s.Miss(ctx, Missed{Source: "k", Text: "second", At: at}))
		got, err := s.Missed(ctx, at)
		must(t, err)
		if len(got) != 1 || got[0].Text != "first" {
			t.Errorf("%+v", got)
		}
		if got, _ = s.Missed(ctx, at.Add(time.Second)); len(got) != 0 {
			t.Errorf("too old: %+v", got)
		}
	})

	t.Run("sweep takes what is old, and never what is in hand", func(t *testing.T) {
		s := open(t)
		_, err := s.Accept(ctx, pending("hand"))
		must(t, err)
		for i, when := range []time.Time{at, at.Add(time.Hour)} {
			k := fmt.Sprint("k", i)
			must(t, s.Finish(ctx, &Done{Key: k, State: Replied, At: when, Answered: &Answered{Key: k, At: when},
				Turn: &Turn{Conversation: k, Key: k, At: when}, Missed: &Missed{Source: k, At: when}}))
		}
		cut := at.Add(time.Minute)
		must(t, s.Sweep(ctx, Before{cut, cut, cut, cut}))
		for k, want := range map[string]State{"hand": InHand, "k0": Unseen, "k1": Replied} {
			if got, _ := s.State(ctx, k); got != want {
				t.Errorf("%s: state %d, want %d", k, got, want)
			}
		}
		_, err0 := s.Answered(ctx, "k0")
		_, err1 := s.Answered(ctx, "k1")
		open, _ := s.Missed(ctx, time.Time{})
		t0, _ := s.Turns(ctx, "k0", time.Time{})
		t1, _ := s.Turns(ctx, "k1", time.Time{})
		if !errors.Is(err0, ErrUnknown) || err1 != nil || len(open) != 1 || len(t0) != 0 || len(t1) != 1 {
			t.Errorf("left: %v %v %v %v %v", err0, err1, open, t0, t1)
		}
	})

	t.Run("forget takes what is somebody's, and nobody else's", func(t *testing.T) {
		s := open(t)
		_, err := s.Accept(ctx, pending("hand"))
		must(t, err)
		for _, who := range []string{"hash", "other"} {
			must(t, s.Bind(ctx, personName(who), Binding{Division: "U9", By: who, At: at}))
			must(t, s.Finish(ctx, &Done{Key: who, State: Replied, At: at, Answered: &Answered{Key: who, Person: who, Ref: Ref{Message: who}, At: at},
				Turn: &Turn{Conversation: who, Key: who, Person: who, At: at}, Missed: &Missed{Source: who, Person: who, At: at}}))
		}
		n, err := s.Forget(ctx, "hash")
		must(t, err)
		if n == 0 {
			t.Error("nothing was forgotten")
		}
		if left, _ := s.Unfinished(ctx); len(left) != 0 {
			t.Errorf("in hand: %+v", left)
		}
		open, _ := s.Missed(ctx, time.Time{})
		mine, _ := s.Turns(ctx, "hash", time.Time{})
		theirs, _ := s.Turns(ctx, "other", time.Time{})
		_, err = s.Binding(ctx, personName("hash"))
		_, err2 := s.Binding(ctx, personName("other"))
		if len(open) != 1 || len(mine) != 0 || len(theirs) != 1 || !errors.Is(err, ErrUnknown) || err2 != nil {
			t.Errorf("left: %v %v %v %v %v", open, mine, theirs, err, err2)
		}
		if a, err := s.Answered(ctx, "hash"); err != nil || a.Person != "" {
			t.Errorf("the answer: %+v, %v", a, err)
		}
		if state, _ := s.State(ctx, "hash"); state != Replied {
			t.Errorf("a forgotten person's event would be answered again: state %d", state)
		}
		if n, err := s.Forget(ctx, "hash"); err != nil || n != 0 {
			t.Errorf("a second time: %d, %v", n, err)
		}
	})

	t.Run("an ended context ends a call", func(t *testing.T) {
		s := open(t)
		dead, cancel := context.WithCancel(ctx)
		cancel()
		if _, err := s.Accept(dead, pending("k")); !errors.Is(err, context.Canceled) {
			t.Errorf("accept: %v", err)
		}
	})
}

func openAt(t *testing.T, path string) *SQLite {
	t.Helper()
	s, err := OpenSQLite(context.Background(), path, time.Date(2027, 4, 10, 9, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() }) // a test may have closed it
	return s
}

func TestSQLiteIsAStore(t *testing.T) {
	testStore(t, func(t *testing.T) Store { return openAt(t, filepath.Join(t.TempDir(), "state.db")) })
}

func TestSQLiteKeepsAcrossOpenings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a %20 ?name#.db")
	s := openAt(t, path)
	if err := s.SetValue(t.Context(), "x", []byte("1")); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = openAt(t, path)
	if v, err := s.Value(t.Context(), "x"); err != nil || string(v) != "1" || s.Lost() != "" {
		t.Fatalf("%q, %v, lost %q", v, err, s.Lost())
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the file is open to others: %v, %v", info.Mode(), err)
	}
}

func TestBrokenFileIsSetAside(t *testing.T) {
	for name, spoil := range map[string]func(raw []byte) []byte{
		"no database":   func([]byte) []byte { return []byte(strings.Repeat("not a database at all. ", 400)) },
		"pages damaged": func(raw []byte) []byte { copy(raw[4096:], strings.Repeat("\xff", len(raw)-4096)); return raw },
		"cut off":       func(raw []byte) []byte { return raw[:len(raw)/2] },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "state.db")
			s := openAt(t, path)
			if err := s.SetValue(t.Context(), "x", []byte("1")); err != nil {
				t.Fatal(err)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			spoilt := spoil(raw)
			if err := os.WriteFile(path, spoilt, 0o600); err != nil {
				t.Fatal(err)
			}
			s = openAt(t, path)
			if s.Lost() == "" {
				t.Fatal("nothing was told of the broken file")
			}
			kept, err := os.ReadFile(s.Lost())
			if err != nil || string(kept) != string(spoilt) {
				t.Errorf("the broken file was not kept as it is: %v", err)
			}
			if err := s.SetValue(t.Context(), "x", []byte("2")); err != nil {
				t.Errorf("the new file: %v", err)
			}
		})
	}
}

func TestNewerFileIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state.db")
	s := openAt(t, path)
	if _, err := s.write.ExecContext(t.Context(), "PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err := OpenSQLite(t.Context(), path, time.Now()); err == nil || !strings.Contains(err.Error(), "newer program") {
		t.Fatalf("%v, %v", s, err)
	}
	if left, _ := filepath.Glob(path + ".broken*"); len(left) != 0 {
		t.Errorf("it was set aside: %v", left)
	}
}

func TestNoFileNamed(t *testing.T) {
	if _, err := OpenSQLite(t.Context(), "", time.Now()); err == nil {
		t.Error("a store without a file")
	}
	if _, err := OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "no", "such", "folder.db"), time.Now()); err == nil {
		t.Error("a store in a folder that is not there")
	}
}

func BenchmarkAcceptFinish(b *testing.B) {
	s, err := OpenSQLite(b.Context(), filepath.Join(b.TempDir(), "state.db"), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	for i := range b.N {
		k := fmt.Sprint(i)
		if _, err := s.Accept(b.Context(), &Pending{Key: k, At: time.Now()}); err != nil {
			b.Fatal(err)
		}
		if err := s.Finish(b.Context(), &Done{Key: k, State: Replied, At: time.Now(), Answered: &Answered{Key: k}, Turn: &Turn{Key: k}}); err != nil {
			b.Fatal(err)
		}
	}
}
