// Sidewall answers boys' youth lacrosse rules questions from one club's book.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // the timezone setting must work where the machine has no zones
)

func main() {
	os.Exit(mainCode())
}

// mainCode runs the program with the process's own arguments and streams.
func mainCode() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return execute(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
}
