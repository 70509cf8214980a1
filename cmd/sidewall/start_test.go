package main

import (
	"io"
	"os/exec"
	"path/filepath"
	"testing"
)

// BenchmarkProcess measures sidewall as a person feels it: one process from
// start to exit. The budgets are 60 ms for a structured question and 150 ms for
// one that is searched, on an idle machine; nothing is the process alone.
func BenchmarkProcess(b *testing.B) {
	program := filepath.Join(b.TempDir(), "sidewall")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("building: %v\n%s", err, out)
	}
	for _, bm := range []struct {
		name string
		args []string
	}{
		{"nothing", []string{"version"}},
		{"structured", []string{"ask", "U11 attack, 45-inch stick?"}},
		{"searched", []string{"ask", "who brings the snacks"}},
	} {
		b.Run(bm.name, func(b *testing.B) {
			for b.Loop() {
				cmd := exec.Command(program, bm.args...)
				cmd.Stdout = io.Discard
				if err := cmd.Run(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkOpen measures what a process does before its first answer.
func BenchmarkOpen(b *testing.B) {
	for b.Loop() {
		_, done, err := openDesk(b.Context(), "")
		if err != nil {
			b.Fatal(err)
		}
		done()
	}
}
