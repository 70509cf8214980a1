package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"sidewall/answers"
	"sidewall/answers/answer"
	"sidewall/bot/terminal"
)

// maxLine is the longest line of a batch; a longer one gets an error, and is not kept.
const maxLine = 1 << 20

// batchLine is one line of a batch. Keys that it does not name are ignored: a
// question corpus has its labels beside the questions.
type batchLine struct {
	ID       *string `json:"id"`
	Q        *string `json:"q"`
	Division string  `json:"division"`
	Position string  `json:"position"`
	Date     string  `json:"date"`
	Thread   string  `json:"thread"`
}

// lineError is what a line gets that cannot be asked.
type lineError struct {
	Line  int    `json:"line"`
	ID    string `json:"id,omitempty"`
	Error string `json:"error"`
}

// batch answers a file of questions, one answer a line, in order.
func batch(ctx context.Context, name string, stdin io.Reader, p *printer) error {
	in := stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return usageError{fmt.Errorf("open the batch: %w", err)}
		}
		defer f.Close()
		in = f
	}
	out := bufio.NewWriter(p.out)
	p.out = out
	r := newLineReader(in)
	b := &batcher{p: p, threads: map[string]*answers.Thread{}}
	for {
		line, err := r.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil && !errors.Is(err, errLongLine) {
			return errors.Join(usageError{fmt.Errorf("read the batch: %w", err)}, out.Flush())
		}
		if err := b.line(ctx, r.n, line, err); err != nil {
			return errors.Join(err, out.Flush())
		}
		if !r.ready() { // whoever writes the questions may wait for the answer
			if err := out.Flush(); err != nil {
				return fmt.Errorf("write the answers: %w", err)
			}
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write the answers: %w", err)
	}
	return b.result()
}

// batcher is one batch on its way.
type batcher struct {
	p       *printer
	threads map[string]*answers.Thread
	broken  int
	crashes int
}

func (b *batcher) result() error {
	switch {
	case b.crashes > 0:
		return fmt.Errorf("%s failed inside the program", countOf(b.crashes, "line"))
	case b.broken > 0:
		return usageError{fmt.Errorf("%s of the batch could not be asked", countOf(b.broken, "line"))}
	}
	return nil
}

// line answers one line; bad is what was wrong in reading it.
func (b *batcher) line(ctx context.Context, n int, raw []byte, bad error) error {
	var l batchLine
	if bad == nil {
		l, bad = parseLine(raw)
	}
	req := b.p.q.base
	if l.ID != nil {
		req.ID = *l.ID
	}
	if bad == nil {
		req, bad = b.p.q.request(req, l.Division, l.Position, l.Date)
	}
	if bad != nil {
		b.broken++
		return b.refuse(lineError{Line: n, ID: req.ID, Error: bad.Error()})
	}
	req.Text = *l.Q
	var th *answers.Thread
	if l.Thread != "" {
		if th = b.threads[l.Thread]; th == nil {
			th = &answers.Thread{}
			b.threads[l.Thread] = th
		}
	}
	ans, err := b.ask(ctx, req, th)
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		b.crashes++
		fmt.Fprintf(b.p.notes, "sidewall: line %d: %v\n", n, err)
		return b.refuse(lineError{Line: n, ID: req.ID, Error: "internal error"})
	}
	if !b.p.f.json {
		fmt.Fprintf(b.p.out, "%s\n", terminal.Clean(req.ID+": "+req.Text))
	}
	if err := b.p.answer(req, ans); err != nil {
		return err
	}
	if !b.p.f.json {
		fmt.Fprintln(b.p.out)
	}
	return nil
}

// ask keeps a panic to the line that it befell: the others still get answers.
func (b *batcher) ask(ctx context.Context, req answers.Request, th *answers.Thread) (a *answer.Answer, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = crashed(p)
		}
	}()
	return b.p.q.Ask(ctx, req, th)
}

func (b *batcher) refuse(e lineError) error {
	if err := b.p.object(e); err != nil {
		return err
	}
	if !b.p.f.json {
		fmt.Fprintln(b.p.out)
	}
	return nil
}

func parseLine(raw []byte) (batchLine, error) {
	var l batchLine
	err := json.Unmarshal(raw, &l)
	var wrong *json.UnmarshalTypeError
	switch {
	case errors.As(err, &wrong) && wrong.Field == "":
		return l, fmt.Errorf("not a JSON object but %s %s", article(wrong.Value), wrong.Value)
	case errors.As(err, &wrong):
		return l, fmt.Errorf("%q must be a string, not %s %s", wrong.Field, article(wrong.Value), wrong.Value)
	case len(bytes.TrimSpace(raw)) == 0:
		return l, errors.New("not JSON: the line is empty")
	case err != nil:
		return l, fmt.Errorf("not JSON: %w", err)
	case bytes.Equal(bytes.TrimSpace(raw), []byte("null")):
		return l, errors.New("not a JSON object but null")
	case l.ID == nil:
		return l, errors.New(`"id" is missing`)
	case l.Q == nil:
		return l, errors.New(`"q" is missing`)
	}
	return l, nil
}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an"
	}
	return "a"
}
