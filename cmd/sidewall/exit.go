package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"sidewall/answers/book"
)

// The exit codes; 0, 2 and 3 are the answer contract's.
const (
	exitFindings  = 1 // a check that the command makes did not pass
	exitUsage     = 2 // bad usage, bad settings, a book that does not load, a batch line that is not JSON
	exitInternal  = 3
	exitInterrupt = 130
)

// usageError is what the person who typed the command can put right.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// failure is a check that did not pass.
type failure struct{ error }

func (e failure) Unwrap() error { return e.error }

// reported is an error whose words are out already.
type reported struct{ error }

func (e reported) Unwrap() error { return e.error }

// exitCode is the code of an error. What nobody classified is the program's own fault.
func exitCode(err error) int {
	var (
		usage usageError
		fail  failure
		wrong book.Errors
	)
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage), errors.As(err, &wrong):
		return exitUsage
	case errors.As(err, &fail):
		return exitFindings
	case errors.Is(err, context.Canceled):
		return exitInterrupt
	}
	return exitInternal
}

// report writes an error as a person reads it.
func report(w io.Writer, err error) {
	var done reported
	if err == nil || errors.As(err, &done) {
		return
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "sidewall: interrupted")
		return
	}
	fmt.Fprintf(w, "sidewall: %v\n", err)
}

// crashed turns a panic into an internal error with its stack.
func crashed(p any) error {
	return fmt.Errorf("internal error, please report it: %v\n%s", p, debug.Stack())
}
