package terminal

import (
	"context"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"sidewall/answers/answer"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// script types lines, and then the end of the input.
type script []string

func (s *script) ReadLine() (string, error) {
	if len(*s) == 0 {
		return "", io.EOF
	}
	line := (*s)[0]
	*s = (*s)[1:]
	return line, nil
}

// desk notes what it is asked and offers two choices each time.
type desk struct {
	asked []string
	fresh []bool
}

func (d *desk) ask(_ context.Context, text string, fresh bool) (*answer.Answer, error) {
	d.asked, d.fresh = append(d.asked, text), append(d.fresh, fresh)
	switch text {
	case "fail":
		return nil, errors.New("broken")
	case "panic":
		panic("boom")
	}
	a := answer.New(answer.Clarify, "t", answer.Need, "Caution.")
	a.Headline, a.Lang = "Which one?", "en"
	if strings.Contains(text, "¿") {
		a.Lang = "es"
	}
	if text != "U11" {
		a.Choices = []string{"U9", "U11"}
	}
	return a, nil
}

var topics = []Topic{{ID: "ball-size", Help: "how big", HelpES: "tamaño", Examples: []string{"big ball?"}, ExamplesES: []string{"¿bola?"}}}

func TestTalk(t *testing.T) {
	tests := []struct {
		name  string
		in    script
		lang  string
		asked []string
		fresh []bool
		says  []string
		not   string
	}{
		{name: "a number picks a choice", in: script{"stick?", "2", "2"}, asked: []string{"stick?", "U11", "2"}, fresh: []bool{true, false, false}, says: []string{"1 U9   2 U11"}},
		{name: "a number out of range is a reply", in: script{"stick?", "3", "0"}, asked: []string{"stick?", "3", "0"}, fresh: []bool{true, false, false}},
		{name: "new forgets", in: script{"a?", "New.", "1"}, asked: []string{"a?", "1"}, fresh: []bool{true, true}, says: []string{"A new conversation."}},
		{name: "commands alone are commands", in: script{"new stick?", "more pads?"}, asked: []string{"new stick?", "more pads?"}, fresh: []bool{true, false}},
		{name: "quit", in: script{"quit", "a?"}, says: []string{"Bye."}},
		{name: "Spanish", in: script{"¿a?", "ayuda", "ayuda ball size", "adiós"}, asked: []string{"¿a?"}, fresh: []bool{true}, says: []string{"tamaño", "¿bola?", "Adiós."}, not: "Bye"},
		{name: "Spanish from the start", in: script{"?", "salir"}, lang: "es", says: []string{"Temas:", "Adiós."}},
		{name: "help", in: script{"help", "help ball size"}, says: []string{"ball-size  how big", "big ball?"}},
		{name: "help me is a question", in: script{"help me"}, asked: []string{"help me"}, fresh: []bool{true}},
		{name: "more", in: script{"more", "a?", "más"}, asked: []string{"a?"}, fresh: []bool{true}, says: []string{"There is no more to show.", "Which one?"}},
		{name: "a failure is told and not the end", in: script{"fail", "panic", "a?"}, asked: []string{"fail", "panic", "a?"}, fresh: []bool{true, true, true}, says: []string{"Something went wrong", "Which one?"}},
		{name: "blank lines", in: script{"", "  ", "\t"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, out := &desk{}, &strings.Builder{}
			if err := Talk(t.Context(), &tt.in, out, Config{Ask: d.ask, Topics: topics, Lang: tt.lang}); err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(d.asked, tt.asked) || !reflect.DeepEqual(d.fresh, tt.fresh) {
				t.Errorf("asked %q %v, want %q %v", d.asked, d.fresh, tt.asked, tt.fresh)
			}
			for _, s := range tt.says {
				if !strings.Contains(out.String(), s) {
					t.Errorf("it said\n%s\nwithout %q", out, s)
				}
			}
			if tt.not != "" && strings.Contains(out.String(), tt.not) {
				t.Errorf("it said\n%s\nwith %q", out, tt.not)
			}
		})
	}
}

// waiting is a person who types nothing until they are gone.
type waiting struct{ gone chan struct{} }

func (w waiting) ReadLine() (string, error) { <-w.gone; return "", io.EOF }

func TestTalkEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	w := waiting{make(chan struct{})}
	defer close(w.gone)
	if err := Talk(ctx, w, io.Discard, Config{Ask: (&desk{}).ask}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

type broken struct{}

func (broken) ReadLine() (string, error) { return "", errors.New("the line went dead") }

func TestTalkTellsAReadError(t *testing.T) {
	err := Talk(t.Context(), broken{}, io.Discard, Config{Ask: (&desk{}).ask})
	if err == nil || !strings.Contains(err.Error(), "the line went dead") {
		t.Errorf("error %v", err)
	}
}
