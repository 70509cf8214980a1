package main

import (
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the scripts' golden files should hold")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sidewall": func() { os.Exit(mainCode()) }})
}

// TestScripts runs the program as a person at a keyboard does.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"code":   code,
			"repeat": repeat,
			"bytes":  writeBytes,
		},
		Setup: func(e *testscript.Env) error {
			e.Setenv("TZ", "UTC")
			return nil
		},
	})
}

// code N ARGS… runs sidewall and wants the exit code N.
func code(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N ARGS…")
	}
	err := ts.Exec("sh", append([]string{"-c", `want=$1; shift; sidewall "$@"; got=$?; [ $got = $want ] || { echo "exit code $got, want $want" >&2; exit 1; }`, "sh"}, args...)...)
	if err != nil {
		ts.Fatalf("%v", err)
	}
}

// repeat FILE N TEXT writes a question of N characters into a batch line.
func repeat(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: repeat FILE N TEXT")
	}
	n := 0
	for _, c := range args[1] {
		n = 10*n + int(c-'0')
	}
	text := strings.Repeat(args[2], n/len(args[2])+1)[:n]
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(`{"id": "long", "q": "`+text+`"}`+"\n"), 0o600))
}

// bytes FILE writes every byte there is, as a file that is no text.
func writeBytes(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: bytes FILE")
	}
	all := make([]byte, 0, 512)
	for i := range 256 {
		all = append(all, byte(i))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), append(all, all...), 0o600))
}
