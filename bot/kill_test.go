package bot

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The child process of TestKill: a bot whose platform is a file of posted keys.
// It reads events as lines, and writes the key of each that it has accepted.
const childEnv = "SIDEWALL_TEST_KILL_DIR"

type fileChat struct{ path string }

func (f *fileChat) Platform() string { return "fake" }

func (f *fileChat) Send(_ context.Context, r *Reply) (Ref, Again, error) {
	out, err := os.OpenFile(f.path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return Ref{}, Again{}, err
	}
	// one write: a process that is killed has posted the line or has not
	_, err = out.WriteString(r.Key + "\n")
	return Ref{Channel: r.Where.Channel, Message: r.Key}, Again{}, errors.Join(err, out.Close())
}

func (f *fileChat) Find(_ context.Context, w Where, key string) (Ref, bool, Again, error) {
	posted, err := postedKeys(f.path)
	return Ref{Channel: w.Channel, Message: key}, posted[key] > 0, Again{}, err
}

func (f *fileChat) Update(context.Context, Ref, *Reply) (Again, error) { return Again{}, nil }
func (f *fileChat) Remove(context.Context, Ref) (Again, error)         { return Again{}, nil }
func (f *fileChat) Show(context.Context, *View) (Again, error)         { return Again{}, nil }

func postedKeys(path string) (map[string]int, error) {
	raw, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	out := map[string]int{}
	for _, k := range strings.Fields(string(raw)) {
		out[k]++
	}
	return out, nil
}

// childMain runs the child where the environment asks for it.
func childMain() bool {
	dir := os.Getenv(childEnv)
	if dir == "" {
		return false
	}
	if err := child(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return true
}

func child(dir string) error {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	d, err := shippedDesk()
	if err != nil {
		return err
	}
	s, err := OpenSQLite(ctx, filepath.Join(dir, "state.db"), time.Now())
	if err != nil {
		return err
	}
	b, err := New(Options{Desk: func() Desk { return d }, Store: s, Adapters: []Adapter{&fileChat{filepath.Join(dir, "posted")}}, Date: gameDay})
	if err != nil {
		return err
	}
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		var e Event
		if err := json.Unmarshal(in.Bytes(), &e); err != nil {
			return err
		}
		if err := b.Handle(ctx, e); err != nil {
			return err
		}
		fmt.Println(e.Key())
	}
	cancel()
	return errors.Join(<-ran, s.Close())
}

// TestKill kills the bot with SIGKILL again and again while it answers, sends
// again what was not acknowledged and now and then what was, and wants each
// question answered exactly once.
func TestKill(t *testing.T) {
	if testing.Short() {
		t.Skip("starts processes")
	}
	dir := t.TempDir()
	const events, kills = 240, 8
	all := make([]Event, events)
	for i := range all {
		all[i] = Event{Kind: Message, ID: fmt.Sprint("e", i), Platform: "fake", Channel: fmt.Sprint("C", i%5), Message: fmt.Sprint("m", i), Person: "ann",
			Text: "can U11s body check?", Direct: true}
	}
	acked := map[string]bool{}
	for life := range kills + 1 {
		last := life == kills
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+dir)
		cmd.Stderr = os.Stderr
		in, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		go func() {
			defer in.Close()
			for i := range all {
				if k := all[i].Key(); acked[k] && i%3 != 0 && !last {
					continue // every third is delivered again though it was acknowledged
				}
				line, _ := json.Marshal(all[i])
				if _, err := in.Write(append(line, '\n')); err != nil {
					return // it was killed
				}
			}
		}()
		lines := bufio.NewScanner(out)
		got := map[string]bool{}
		for n := 0; lines.Scan(); n++ {
			got[lines.Text()] = true
			if !last && len(got) == 20+7*life {
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		_, _ = io.Copy(io.Discard, out) // up to the end, so that Wait can close it
		err = cmd.Wait()
		if last && err != nil {
			t.Fatalf("the last life: %v", err)
		}
		for k := range got {
			acked[k] = true
		}
	}
	posted, err := postedKeys(filepath.Join(dir, "posted"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range all {
		if n := posted[all[i].Key()]; n != 1 {
			t.Errorf("%s was answered %d times", all[i].Key(), n)
		}
	}
}
