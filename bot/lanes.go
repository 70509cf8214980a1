package bot

import (
	"sync"
	"time"
)

// lanes runs jobs on a bounded number of workers: the jobs of one lane one after
// the other in the order of their arrival, those of different lanes side by
// side. A job that has to wait (a platform said "not before a second") parks its
// lane and gives its worker back, so that nothing else waits with it.
type lanes struct {
	run   func(*job) (again time.Duration, done bool)
	clock Clock

	mu      sync.Mutex
	wake    *sync.Cond
	byName  map[string]*lane
	ready   []*lane
	keys    map[string]bool // of the jobs in hand
	started bool
	stopped bool
	empty   chan struct{} // closed while no job is in hand
	workers sync.WaitGroup
}

type lane struct {
	name   string
	jobs   []*job
	unpark func() bool
}

func newLanes(clock Clock, run func(*job) (time.Duration, bool)) *lanes {
	l := &lanes{run: run, clock: clock, byName: map[string]*lane{}, keys: map[string]bool{}, empty: make(chan struct{})}
	l.wake = sync.NewCond(&l.mu)
	close(l.empty)
	return l
}

// add puts a job at the end of its lane; false where its key is in hand already.
func (l *lanes) add(j *job) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.keys[j.key] {
		return false
	}
	if len(l.keys) == 0 {
		l.empty = make(chan struct{})
	}
	l.keys[j.key] = true
	ln := l.byName[j.conversation]
	if ln == nil {
		ln = &lane{name: j.conversation}
		l.byName[j.conversation] = ln
	}
	ln.jobs = append(ln.jobs, j)
	if len(ln.jobs) == 1 {
		l.offer(ln)
	}
	return true
}

func (l *lanes) offer(ln *lane) {
	l.ready = append(l.ready, ln)
	l.wake.Signal()
}

// has says whether a key is in hand, and whether its lane has anything in hand.
func (l *lanes) has(key string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.keys[key]
}

func (l *lanes) busy(name string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.byName[name] != nil
}

func (l *lanes) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.keys)
}

// start starts the workers, once.
func (l *lanes) start(n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.started || l.stopped {
		return
	}
	l.started = true
	for range n {
		l.workers.Go(l.work)
	}
}

func (l *lanes) work() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for {
		for len(l.ready) == 0 && !l.stopped {
			l.wake.Wait()
		}
		if l.stopped {
			return
		}
		ln := l.ready[0]
		l.ready = l.ready[1:]
		j := ln.jobs[0]
		l.mu.Unlock()
		again, done := l.run(j)
		l.mu.Lock()
		if !done {
			l.park(ln, again)
			continue
		}
		delete(l.keys, j.key)
		if ln.jobs = ln.jobs[1:]; len(ln.jobs) > 0 {
			l.offer(ln)
		} else {
			delete(l.byName, ln.name)
		}
		if len(l.keys) == 0 {
			close(l.empty)
		}
	}
}

func (l *lanes) park(ln *lane, d time.Duration) {
	if l.stopped {
		return
	}
	ln.unpark = l.clock.AfterFunc(d, func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		if ln.unpark != nil {
			ln.unpark = nil
			l.offer(ln)
		}
	})
}

// idle is closed when nothing is in hand.
func (l *lanes) idle() <-chan struct{} {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.empty
}

// stop ends the workers after the jobs that they run, and waits for them.
func (l *lanes) stop() {
	l.mu.Lock()
	l.stopped = true
	for _, ln := range l.byName {
		if ln.unpark != nil {
			ln.unpark()
			ln.unpark = nil
		}
	}
	l.wake.Broadcast()
	l.mu.Unlock()
	l.workers.Wait()
}
