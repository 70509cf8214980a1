package answers_test

import (
	"flag"
	"reflect"
	"testing"

	"sidewall/answers"
	"sidewall/answers/measure"
	"sidewall/answers/question"
)

var every = flag.Int("every", 29, "ask every so many questions of the corpora by themselves")

// TestOneQuestion holds a desk that was made for one question against one that
// knows all words: what was passed over must not change an answer.
func TestOneQuestion(t *testing.T) {
	d := desk(t)
	for i, l := range corpus(t) {
		if i%*every != 0 {
			continue
		}
		on, _ := measure.ParseDate(l.Date) // 0, today, where it has none
		r := answers.Request{Text: l.Q, Division: l.Division, Position: l.Position, On: on}
		one, err := answers.New(d.Book(), answers.WithReadAhead(question.ReadAheadFor(r.Text)))
		if err != nil {
			t.Fatal(err)
		}
		want, err := d.Ask(t.Context(), r, nil)
		if err != nil {
			t.Fatal(err)
		}
		got, err := one.Ask(t.Context(), r, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%q alone is answered\n%+v\nwant\n%+v", r.Text, got, want)
		}
	}
}

// TestOneQuestionAndMore asks such a desk about something else.
func TestOneQuestionAndMore(t *testing.T) {
	d := desk(t)
	one, err := answers.New(d.Book(), answers.WithReadAhead(question.ReadAheadFor("U11 attack, 45-inch stick?")))
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"how long are U13 quarters?", "¿cuánto dura un cuarto en U13?", "is a 45 inch stikc ok for U11 atack"} {
		r := answers.Request{Text: text}
		want, err := d.Ask(t.Context(), r, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := one.Ask(t.Context(), r, nil); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q is answered\n%+v, %v\nwant\n%+v", text, got, err, want)
		}
	}
}
