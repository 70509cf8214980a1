// Sidewall answers boys' youth lacrosse rules questions from one club's book.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	_ "time/tzdata" // the timezone setting must work where the machine has no zones
)

func main() {
	os.Exit(mainCode())
}

// quickGC is for commands that end at once: collecting what the start left behind
// takes longer than it is worth. A command that stays sets its own.
const quickGC = 800

// mainCode runs the program with the process's own arguments and streams.
func mainCode() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(quickGC)
	}
	return execute(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
}
