package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sidewall/answers/answer"
)

// A question asked in another manner must be answered alike. A variant writes a
// question anew; "" is a question that it does not apply to. The floor is the
// share that must hold, and lies a little under what was measured; no variant
// may turn legal into not legal, or the other way.
type variant struct {
	name  string
	floor float64
	least int // questions that it must apply to, so that it cannot pass on none
	write func(l *labelled, a *answer.Answer) string
}

func TestOtherManners(t *testing.T) {
	ctx := context.Background()
	d, done, err := openDesk(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	defer done()
	known := longWords(t)
	variants := []variant{
		{"upper case", 0.995, 1000, func(l *labelled, _ *answer.Answer) string { return strings.ToUpper(l.Q) }},
		{"lower case", 0.99, 400, func(l *labelled, _ *answer.Answer) string { return strings.ToLower(l.Q) }},
		{"polite words", 0.99, 1000, polite},
		{"typing slip", 0.975, 500, func(l *labelled, _ *answer.Answer) string { return slip(l.Q, known) }},
		{"legal to illegal", 0.975, 100, func(l *labelled, a *answer.Answer) string { return unlawful(l.Q, a.Lang) }},
		{"inches to cm", 0.98, 90, func(l *labelled, a *answer.Answer) string { return toCentimetres(l.Q, a) }},
		{"cm to inches", 0.96, 20, func(l *labelled, a *answer.Answer) string { return toInches(l.Q, a) }},
	}
	files, err := filepath.Glob("../../testdata/questions/*.jsonl")
	if err != nil || len(files) == 0 {
		t.Fatalf("no questions: %v", err)
	}
	type count struct{ asked, held, flipped int }
	counts := make([]count, len(variants))
	for _, name := range files {
		ls, err := readCorpus(name)
		if err != nil {
			t.Fatal(err)
		}
		for i := range ls {
			l := &ls[i]
			if l.Thread != "" || l.Want.Topic == "" {
				continue
			}
			before, err := run(ctx, d, l, nil)
			if err != nil {
				t.Fatal(err)
			}
			if o, _ := judge(l, before); o != right {
				continue
			}
			for k, v := range variants {
				other := *l
				other.Q = v.write(l, before)
				if other.Q == "" || other.Q == l.Q {
					continue
				}
				after, err := run(ctx, d, &other, nil)
				if err != nil {
					t.Fatal(err)
				}
				c := &counts[k]
				c.asked++
				why := differs(t, before, after)
				if why == "" {
					c.held++
					continue
				}
				if flipped(before, after) {
					c.flipped++
					t.Errorf("%s: %s: %s: %q", v.name, l.ID, why, other.Q)
				} else if testing.Verbose() {
					t.Logf("%s: %s: %s: %q", v.name, l.ID, why, other.Q)
				}
			}
		}
	}
	for k, v := range variants {
		c := counts[k]
		share := 0.0
		if c.asked > 0 {
			share = float64(c.held) / float64(c.asked)
		}
		t.Logf("%-17s %4d of %4d held (%.2f %%), %d flipped", v.name, c.held, c.asked, 100*share, c.flipped)
		if c.asked < v.least {
			t.Errorf("%s: applied to %d questions, want %d or more", v.name, c.asked, v.least)
		}
		if share < v.floor {
			t.Errorf("%s: %.4f held, want %.4f or more", v.name, share, v.floor)
		}
	}
}

// flipped says whether one answer says legal and the other not legal.
func flipped(a, b *answer.Answer) bool {
	if turned(a.Verdict, b.Verdict) {
		return true
	}
	for i := range min(len(a.Parts), len(b.Parts)) {
		if a.Parts[i].Topic == b.Parts[i].Topic && turned(a.Parts[i].Verdict, b.Parts[i].Verdict) {
			return true
		}
	}
	return false
}

func turned(a, b string) bool {
	return a == answer.Legal && b == answer.NotLegal || a == answer.NotLegal && b == answer.Legal
}

// differs says what differs between two answers to the same question; "" for nothing.
func differs(t *testing.T, a, b *answer.Answer) string {
	t.Helper()
	if why := differsOne(t, a, b); why != "" {
		return why
	}
	if len(a.Parts) != len(b.Parts) {
		return fmt.Sprintf("%d parts, then %d", len(a.Parts), len(b.Parts))
	}
	for i := range a.Parts {
		if why := differsOne(t, a.Parts[i], b.Parts[i]); why != "" {
			return fmt.Sprintf("part %d: %s", i+1, why)
		}
	}
	return ""
}

func differsOne(t *testing.T, a, b *answer.Answer) string {
	t.Helper()
	if a.Topic != b.Topic || a.Verdict != b.Verdict {
		return fmt.Sprintf("%s %s, then %s %s %v", a.Topic, a.Verdict, b.Topic, b.Verdict, b.Missing)
	}
	raw, err := a.Values.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var values map[string]any
	if err := json.Unmarshal(raw, &values); err != nil {
		t.Fatal(err)
	}
	if len(a.Values) != len(b.Values) {
		return fmt.Sprintf("%d values, then %d", len(a.Values), len(b.Values))
	}
	return compare(values, b.Values)
}

func polite(l *labelled, a *answer.Answer) string {
	if a.Lang == "es" {
		return "hola, una pregunta: " + l.Q + " gracias"
	}
	return "hi, quick question: " + l.Q + " thanks!"
}

var legalWord = regexp.MustCompile(`(?i)\blegal\b`)

// unlawful asks whether it is illegal; a question that says so already, or says
// "not legal", is left.
func unlawful(q, lang string) string {
	if low := strings.ToLower(q); strings.Contains(low, "illegal") || strings.Contains(low, "ilegal") || !legalWord.MatchString(q) {
		return ""
	}
	word := "illegal"
	if lang == "es" {
		word = "ilegal"
	}
	return legalWord.ReplaceAllString(q, word)
}

const slipLetters = 8 // words shorter than this are too near to others

var longWord = regexp.MustCompile(`[A-Za-z]{8,}`)

// longWords are the long words of the lexicons.
func longWords(t *testing.T) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for _, lang := range [...]string{"en", "es"} {
		files, err := filepath.Glob("../../answers/question/data/" + lang + "/*.txt")
		if err != nil || len(files) == 0 {
			t.Fatalf("no lexicons: %v", err)
		}
		for _, name := range files {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for line := range strings.Lines(string(raw)) {
				head, phrases, ok := strings.Cut(line, ": ")
				if !ok || strings.HasPrefix(head, "#") {
					continue
				}
				for _, w := range longWord.FindAllString(phrases, -1) {
					out[w] = true
				}
			}
		}
	}
	return out
}

// slip swaps two inner letters of the first long word that the lexicons know.
func slip(q string, known map[string]bool) string {
	for _, at := range longWord.FindAllStringIndex(q, -1) {
		w := []byte(q[at[0]:at[1]])
		if len(w) < slipLetters || !known[strings.ToLower(string(w))] {
			continue
		}
		for i := len(w) / 2; i < len(w)-2; i++ {
			if w[i] == w[i+1] {
				continue
			}
			w[i], w[i+1] = w[i+1], w[i]
			if known[strings.ToLower(string(w))] {
				break // the slip makes another word
			}
			return q[:at[0]] + string(w) + q[at[1]:]
		}
	}
	return ""
}

var (
	inches      = regexp.MustCompile(`(?i)\b(\d+(?:\.\d+)?)(?:[ -](\d)/(\d))?(?:[ -]?(?:inches|inch|in|pulgadas|pulgada)\b|["”])`)
	centimetres = regexp.MustCompile(`(?i)\b(\d+(?:\.\d+)?)[ -]?(?:centimet(?:er|re)s?|cent[ií]metros?|cms?)\b`)
	// a number before that shares the unit or the measure: 5'6", 37-42 in, 4 ft 2 in
	shared = regexp.MustCompile(`(?i)(?:\d|'|’|\bft|feet|foot|pies?|yds?|yards?|inches|in|inch|["”]|cm)\s*(?:[-–/x.,]|to|and|or|by|y|a|o|por|,)?\s*$`)
)

const perInch = 2.54

// toCentimetres writes the lengths in inches that the answer rests on in cm.
func toCentimetres(q string, a *answer.Answer) string {
	return rewrite(q, inches, a, func(n float64) (float64, string) { return n, number(n*perInch) + " cm" })
}

// toInches writes the lengths in cm that the answer rests on in inches.
func toInches(q string, a *answer.Answer) string {
	unit := " inches"
	if a.Lang == "es" {
		unit = " pulgadas"
	}
	return rewrite(q, centimetres, a, func(n float64) (float64, string) { return n / perInch, number(n/perInch) + unit })
}

func number(f float64) string {
	return strconv.FormatFloat(math.Round(f*1e6)/1e6, 'f', -1, 64)
}

func rewrite(q string, unit *regexp.Regexp, a *answer.Answer, to func(float64) (inches float64, text string)) string {
	var b strings.Builder
	last := 0
	for _, m := range unit.FindAllStringSubmatchIndex(q, -1) {
		n, err := strconv.ParseFloat(q[m[2]:m[3]], 64)
		if err != nil || shared.MatchString(q[:m[0]]) {
			continue
		}
		if len(m) > 6 && m[4] >= 0 {
			over, under := float64(q[m[4]]-'0'), float64(q[m[6]]-'0')
			if under == 0 {
				continue
			}
			n += over / under
		}
		in, text := to(n)
		if !restsOn(a, in) {
			continue // "3 in the box" is no length
		}
		b.WriteString(q[last:m[0]])
		b.WriteString(text)
		last = m[1]
	}
	if last == 0 {
		return ""
	}
	return b.String() + q[last:]
}

// restsOn says whether an answer took a length of n inches from its question.
func restsOn(a *answer.Answer, n float64) bool {
	for _, f := range a.Facts {
		if strings.HasSuffix(f.Name, "_in") && f.Val.Kind == answer.Num && math.Abs(f.Val.A-n) <= tolerance {
			return true
		}
	}
	for _, p := range a.Parts {
		if restsOn(p, n) {
			return true
		}
	}
	return false
}
