package book

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// A publication is killed (SIGKILL, or what the system has for it) at each of
// its steps and at any moment between them; whoever reads the folder then finds
// the old book or the new one, whole.

const (
	killDirEnv  = "SIDEWALL_TEST_PUBLISH_DIR"
	killStepEnv = "SIDEWALL_TEST_PUBLISH_STEP" // 0: go on until somebody else kills it
)

// edition is what the two files of one publication both say.
func edition(b *Book) (int, error) {
	one, two := -1, -1
	for _, s := range b.Summaries {
		var n int
		if _, err := fmt.Sscanf(strings.TrimSpace(s.Body), "Edition %d.", &n); err != nil {
			return 0, fmt.Errorf("%s: %w", s.File, err)
		}
		switch s.ID {
		case "first-stick":
			one = n
		default: // page-even or page-odd: each edition adds one and deletes the other
			if s.ID != pageOf(n) {
				return 0, fmt.Errorf("%s in edition %d", s.ID, n)
			}
			two = n
		}
	}
	if one != two || len(b.Summaries) != 2 {
		return 0, fmt.Errorf("first-stick is of edition %d, the page of %d, of %d summaries", one, two, len(b.Summaries))
	}
	return one, nil
}

func pageOf(n int) string { return []string{"page-even", "page-odd"}[n%2] }

func publishEdition(t *testing.T, p *Publisher, n int) {
	t.Helper()
	text := fmt.Sprintf("Edition %d.\n", n)
	cs := []Change{SummaryText{ID: "first-stick", Text: text}, PutSummary{pageOf(n), NewSummary{ID: pageOf(n), Title: "A page", Owner: "x", Reviewed: 20270101, Text: text}.File()}}
	if n > 1 {
		cs = append(cs, DeleteSummary{pageOf(n - 1)})
	}
	pr, err := p.Propose(t.Context(), cs...)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Publish(t.Context(), pr, Note{By: "child"}); err != nil {
		t.Fatal(err)
	}
}

// TestKillChild is the child process, and does nothing where it is not.
func TestKillChild(t *testing.T) {
	dir := os.Getenv(killDirEnv)
	if dir == "" {
		t.Skip("this is the child of TestKill")
	}
	dieAt, err := strconv.Atoi(os.Getenv(killStepEnv))
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPublisher(dir)
	if err != nil {
		t.Fatal(err)
	}
	steps := 0
	p.step = func(string) {
		if steps++; steps == dieAt {
			self, err := os.FindProcess(os.Getpid())
			if err == nil {
				err = self.Kill()
			}
			if err != nil {
				os.Exit(3)
			}
			select {} // the kill is on its way
		}
	}
	if err := p.Recover(); err != nil {
		t.Fatal(err)
	}
	b, err := LoadDir(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	n, err := edition(b)
	if err != nil {
		t.Fatal(err)
	}
	for {
		n++
		publishEdition(t, p, n)
		fmt.Printf("published %d\n", n)
	}
}

func TestKill(t *testing.T) {
	kills := 200
	if testing.Short() {
		kills = 20
	}
	dir := filepath.Join(t.TempDir(), "ours")
	if err := New(dir, os.DirFS("../../testdata/books/good/small")); err != nil {
		t.Fatal(err)
	}
	p, err := NewPublisher(dir)
	if err != nil {
		t.Fatal(err)
	}
	most := 0 // steps of one publication
	p.step = func(string) { most++ }
	publishEdition(t, p, 1)
	most = 0
	publishEdition(t, p, 2)
	last, pending, steps := 2, 0, map[int]bool{}
	for i := range kills {
		at := 0
		if i%4 != 3 { // three of four at a step, the fourth at any moment
			at = 1 + (i-i/4)%(2*most)
			steps[at] = true
		}
		told := killed(t, dir, at)
		b, err := LoadDir(t.Context(), dir)
		if err != nil {
			t.Fatalf("kill %d at step %d: %v", i, at, err)
		}
		n, err := edition(b)
		if err != nil {
			t.Fatalf("kill %d at step %d: %v", i, at, err)
		}
		// What was told as published stays published; one more may have been.
		if n < max(last, told) || n > max(last, told)+1 {
			t.Fatalf("kill %d at step %d: edition %d after %d, and %d was told", i, at, n, last, told)
		}
		last = n
		if _, err := os.Stat(filepath.Join(dir, historyDir, pendingFile)); err == nil {
			pending++
		}
	}
	if !testing.Short() && (pending < kills/5 || len(steps) < 2*most) {
		t.Errorf("only %d kills left a publication half in place, at %d of %d steps", pending, len(steps), 2*most)
	}
	h, err := History(t.Context(), dir, 0)
	if err != nil || len(h) != last || h[0].Number != last {
		t.Errorf("%d publications for edition %d, %v", len(h), last, err)
	}
	for i := 1; i < len(h); i++ {
		if h[i-1].Base != h[i].Revision || h[i-1].Edited {
			t.Errorf("revision %d does not follow from %d", h[i-1].Number, h[i].Number)
		}
	}
	if err := p.Recover(); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Undo(t.Context(), 0, Note{By: "parent"}); err != nil {
		t.Fatal(err)
	}
	b, err := LoadDir(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := edition(b); err != nil || n != last-1 {
		t.Errorf("edition %d after an undo of %d: %v", n, last, err)
	}
}

// killed runs a child until it kills itself at a step, or until it is killed at
// any moment after a publication; it gives the last edition that the child told.
func killed(t *testing.T, dir string, step int) (told int) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestKillChild$")
	cmd.Env = append(os.Environ(), killDirEnv+"="+dir, killStepEnv+"="+strconv.Itoa(step))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	in := bufio.NewReader(out)
	var rest strings.Builder
	for lines, spin := 0, 0; ; lines++ {
		line, err := in.ReadString('\n')
		if _, scan := fmt.Sscanf(line, "published %d", &told); scan != nil && line != "" {
			rest.WriteString(line)
		}
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, os.ErrClosed) {
				t.Fatal(err)
			}
			break
		}
		if step == 0 && lines == 0 {
			// Not by the clock: the child is somewhere in its next publication
			// after each turn of this loop.
			for range rand.IntN(2_000_000) {
				spin++
			}
			if err := cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := cmd.Wait(); err == nil || cmd.ProcessState.Exited() {
		t.Fatalf("the child was not killed: %v\n%s", err, rest.String())
	}
	return told
}
