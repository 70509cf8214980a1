package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"sidewall/bot/slackchat/fakeslack"
)

// faultRig is a process that serves, in a folder that things happen to, and Slack.
type faultRig struct {
	*testing.T
	s     *fakeslack.Server
	dir   string
	log   *safeBuffer // of all the processes of this rig
	env   []string
	p     *served
	asked []string               // of D1, by ts
	post  atomic.Pointer[func()] // called while an answer is being posted
}

const faultWait = 30 * time.Second

func newFaultRig(t *testing.T, env []string) *faultRig {
	r := &faultRig{T: t, dir: t.TempDir(), log: &safeBuffer{}, env: append([]string{"SIDEWALL_METRICS_LISTEN=127.0.0.1:0"}, env...)}
	retries := make([]time.Duration, 100) // as Slack, in a hurry
	for i := range retries {
		retries[i] = 300 * time.Millisecond
	}
	r.s = serveFake(t, fakeslack.Options{Ack: 500 * time.Millisecond, Retries: retries, Fault: func(method, _ string) fakeslack.Fault {
		if f := r.post.Load(); f != nil && method == "chat.postMessage" {
			(*f)()
		}
		return fakeslack.Fault{}
	}})
	r.s.AddChannel("D1", fakeslack.IM, "U1")
	return r
}

// start starts a process and waits until it is connected.
func (r *faultRig) start() {
	r.Helper()
	r.p = startServe(r.T, r.s, r.dir, r.log, r.env...)
	waitFor(r.T, r.s, faultWait, "both connections", func() bool { return r.s.Connections() == 2 })
}

// refuses starts a process that has to say what is wrong, and to end.
func (r *faultRig) refuses(says ...string) {
	r.Helper()
	log := &safeBuffer{}
	p := startServe(r.T, r.s, r.dir, log, r.env...)
	select {
	case <-p.gone:
	case <-time.After(faultWait):
		r.Fatalf("it goes on:\n%s", log)
	}
	if code := p.cmd.ProcessState.ExitCode(); code != exitUsage {
		r.Errorf("exit code %d, want %d", code, exitUsage)
	}
	for _, want := range says {
		if !strings.Contains(log.String(), want) {
			r.Errorf("it does not say %q:\n%s", want, log)
		}
	}
	if strings.Contains(log.String(), "goroutine ") || strings.Contains(log.String(), "internal error") {
		r.Errorf("that is no plain word:\n%s", log)
	}
}

func (r *faultRig) ask() string {
	ts := r.s.Post("D1", "U1", "can U11s body check?", fakeslack.PostOptions{})
	r.asked = append(r.asked, ts)
	return ts
}

// answered waits until all that was asked is answered and acknowledged.
func (r *faultRig) answered() {
	r.Helper()
	waitFor(r.T, r.s, faultWait, "the answers", func() bool {
		for _, ts := range r.asked {
			if len(r.s.Replies("D1", ts)) == 0 {
				return false
			}
		}
		return len(r.s.Unacked()) == 0
	})
}

func (r *faultRig) says(what string) {
	r.Helper()
	eventually(r.T, faultWait, fmt.Sprintf("it to say %q", what), func() bool { return strings.Contains(r.log.String(), what) })
}

// mounted mounts a small file system of its own on the rig's folder.
func (r *faultRig) mounted() {
	r.Helper()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", r.dir).CombinedOutput(); err != nil {
		r.Skipf("mounting is not allowed here, so that nothing can be said of a disk that is full or cannot be written: %s", bytes.TrimSpace(out))
	}
	r.Cleanup(func() {
		if r.p != nil {
			_ = r.p.cmd.Process.Kill()
		}
		if out, err := exec.Command("umount", "-l", r.dir).CombinedOutput(); err != nil {
			r.Errorf("unmount: %s", out)
		}
	})
}

func (r *faultRig) remount(how string) {
	r.Helper()
	if out, err := exec.Command("mount", "-o", "remount,"+how, r.dir).CombinedOutput(); err != nil {
		r.Fatalf("mount it %s: %s", how, out)
	}
}

// fill takes all the room there is on the rig's disk; the function it gives makes
// room again.
func (r *faultRig) fill() (free func()) {
	name := filepath.Join(r.dir, "filler")
	f, err := os.Create(name)
	if err != nil {
		r.Error(err)
		return func() {}
	}
	defer f.Close()
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	if !errors.Is(err, syscall.ENOSPC) {
		r.Errorf("fill the disk: %v", err)
	}
	return func() {
		if err := os.Remove(name); err != nil {
			r.Error(err)
		}
	}
}

// TestServeFaults lets things go wrong around the process. Whatever it is, every
// question gets one answer in the end, and what is wrong is said in plain words.
func TestServeFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("starts processes")
	}
	tests := []struct {
		name string
		env  []string
		do   func(r *faultRig)
	}{
		{name: "the state file cannot be written", do: func(r *faultRig) {
			r.mounted()
			r.start()
			r.ask()
			r.answered()
			r.p.end(r)
			r.remount("ro")
			r.refuses("open the state file", "state.db", "cannot be written", "read-only", "Let the account that runs sidewall write in the folder")
			r.remount("rw")
			r.ask()
			r.start()
			r.answered()
		}},
		{name: "the disk is full while it serves", do: func(r *faultRig) {
			r.mounted()
			r.start()
			r.ask()
			r.answered()
			free := r.fill()
			r.ask()
			r.says("database or disk is full")
			if _, body := r.p.ask(r, "/readyz"); !strings.Contains(body, "the state file cannot be written") {
				r.Errorf("it says that it is ready: %s", body)
			}
			if code, _ := r.p.ask(r, "/healthz"); code != 200 {
				r.Errorf("it is alive all the same, and says %d", code)
			}
			free()
			r.answered()
			if n := r.p.numbers(r).sum("sidewall_events_not_kept_total"); n == 0 {
				r.Error("what could not be kept is not counted")
			}
			eventually(r.T, faultWait, "readiness", func() bool { code, _ := r.p.ask(r, "/readyz"); return code == 200 })
		}},
		{name: "the disk fills up while an answer is posted", do: func(r *faultRig) {
			r.mounted()
			r.start()
			var free atomic.Pointer[func()]
			fill := func() {
				if free.Load() == nil {
					f := r.fill()
					free.Store(&f)
				}
			}
			r.post.Store(&fill)
			r.ask()
			r.says("what became of an event could not be kept")
			r.post.Store(nil)
			(*free.Load())()
			r.answered()
			eventually(r.T, faultWait, "the end of the event", func() bool { return r.p.numbers(r).sum("sidewall_events_in_hand") == 0 })
		}},
		{name: "it is killed and begins anew on a full disk", do: func(r *faultRig) {
			r.mounted()
			r.start()
			r.ask()
			r.answered()
			free := r.fill()
			if err := r.p.cmd.Process.Kill(); err != nil {
				r.Fatal(err)
			}
			<-r.p.gone
			r.ask()
			log := &safeBuffer{}
			p := startServe(r.T, r.s, r.dir, log, r.env...)
			select { // it may say so and end, or go on and take nothing; it must not set the file aside
			case <-p.gone:
				if code := p.cmd.ProcessState.ExitCode(); code != exitUsage || !strings.Contains(log.String(), "full") {
					r.Errorf("exit code %d:\n%s", code, log)
				}
			case <-time.After(3 * time.Second):
				if err := p.cmd.Process.Kill(); err != nil {
					r.Fatal(err)
				}
				<-p.gone
				r.Logf("on the full disk it says\n%s", log)
			}
			if aside, _ := filepath.Glob(filepath.Join(r.dir, "*.broken-*")); len(aside) > 0 {
				r.Errorf("a good file was set aside: %v", aside)
			}
			free()
			r.start()
			r.answered()
		}},
		{name: "the state file is broken", do: func(r *faultRig) {
			r.start()
			r.ask()
			r.answered()
			r.p.end(r)
			spoiled := []byte(strings.Repeat("this is no database. ", 500))
			for _, ext := range []string{"", "-wal", "-shm"} {
				if err := os.Remove(filepath.Join(r.dir, "state.db"+ext)); err != nil && !errors.Is(err, os.ErrNotExist) {
					r.Fatal(err)
				}
			}
			if err := os.WriteFile(filepath.Join(r.dir, "state.db"), spoiled, 0o600); err != nil {
				r.Fatal(err)
			}
			r.start()
			r.says("the state file was broken; a new one was begun")
			aside, err := filepath.Glob(filepath.Join(r.dir, "state.db.broken-*"))
			if err != nil || len(aside) != 1 {
				r.Fatalf("set aside: %v, %v", aside, err)
			}
			if kept, err := os.ReadFile(aside[0]); err != nil || !bytes.Equal(kept, spoiled) {
				r.Errorf("what was set aside is not what was there: %v", err)
			}
			if !strings.Contains(r.log.String(), filepath.Base(aside[0])) {
				r.Error("it does not say where the broken one is")
			}
			ds := r.s.Deliveries()
			r.s.Redeliver(ds[0].ID) // what was answered before the file broke
			r.ask()
			r.answered()
		}},
		{name: "the book's folder goes away", env: []string{"SIDEWALL_BOOK=ours"}, do: func(r *faultRig) {
			make := func() {
				cmd := exec.Command("sidewall", "book", "new", "ours")
				cmd.Dir = r.dir
				if out, err := cmd.CombinedOutput(); err != nil {
					r.Fatalf("%v: %s", err, out)
				}
			}
			make()
			r.start()
			r.ask()
			r.answered()
			if err := os.RemoveAll(filepath.Join(r.dir, "ours")); err != nil {
				r.Fatal(err)
			}
			r.ask()
			r.answered() // with the book that it has
			r.p.end(r)
			r.ask()
			r.refuses("there is no book in", "sidewall book new")
			make()
			r.start()
			r.answered()
		}},
		{name: "two processes on one state file", do: func(r *faultRig) {
			r.start()
			r.refuses("another sidewall serve uses it", "end that one first", "state.path")
			r.ask()
			r.answered()
			if err := r.p.cmd.Process.Kill(); err != nil { // a lock must not outlive its process
				r.Fatal(err)
			}
			<-r.p.gone
			r.ask()
			r.start()
			r.answered()
		}},
		{name: "SIGTERM under load", do: func(r *faultRig) {
			r.start()
			for range 60 {
				r.ask()
			}
			if err := r.p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
				r.Fatal(err)
			}
			for range 60 {
				r.ask()
			}
			select {
			case <-r.p.gone:
			case <-time.After(faultWait):
				r.Fatalf("it does not stop:\n%s", r.log)
			}
			if code := r.p.cmd.ProcessState.ExitCode(); code != 0 {
				r.Errorf("exit code %d", code)
			}
			r.says("stopping: what is in hand is finished first")
			r.start()
			r.answered()
		}},
		{name: "a memory limit", env: []string{"GOMEMLIMIT=28MiB"}, do: func(r *faultRig) {
			if raceEnabled {
				r.Skip("the race detector needs a lot of memory itself")
			}
			r.start()
			const limit = 28 << 20
			high := 0.0
			for range 10 {
				for range 40 {
					r.ask()
				}
				r.answered()
				n := r.p.numbers(r)
				if got := n["go_memlimit_bytes"]; got != limit {
					r.Fatalf("the limit is %v", got)
				}
				// what the limit is about: the runtime's memory without what it gave back
				high = max(high, n["go_memstats_sys_bytes"]-n["go_memstats_heap_released_bytes"])
			}
			r.Logf("at most %.1f MB of %d", high/(1<<20), limit>>20)
			if high > limit*1.1 {
				r.Errorf("it took %.1f MB, with a limit of %d", high/(1<<20), limit>>20)
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := newFaultRig(t, tt.env)
			defer func() {
				if t.Failed() {
					l := r.log.String()
					t.Logf("the end of the log:\n%s", l[max(0, len(l)-3000):])
				}
			}()
			tt.do(r)
			if code := r.p.end(t); code != 0 {
				t.Errorf("in the end it stops with exit code %d", code)
			}
			for _, ts := range r.asked {
				if n := len(r.s.Replies("D1", ts)); n != 1 {
					t.Errorf("%s was answered %d times", ts, n)
				}
			}
			if strings.Contains(r.log.String(), "body check?") {
				t.Error("the log holds somebody's words")
			}
		})
	}
}
