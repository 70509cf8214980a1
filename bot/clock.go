package bot

import "time"

// Clock is the time, and a call at a later time. Tests have their own.
type Clock interface {
	Now() time.Time
	// AfterFunc calls f in a goroutine of its own after d, unless it is stopped before.
	AfterFunc(d time.Duration, f func()) (stop func() bool)
}

type realClock struct{}

func (realClock) Now() time.Time { return time.Now() }

func (realClock) AfterFunc(d time.Duration, f func()) func() bool { return time.AfterFunc(d, f).Stop }
