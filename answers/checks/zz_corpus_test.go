package checks_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

func TestZZCorpus(t *testing.T) {
	b, err := book.Load(t.Context(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	d, err := answers.New(b)
	if err != nil {
		t.Fatal(err)
	}
	file := os.Getenv("ZZ")
	topics := strings.Split(os.Getenv("ZT"), ",")
	f, err := os.Open(file)
	if err != nil {
		t.Skip()
	}
	threads := map[string]*answers.Thread{}
	sc := bufio.NewScanner(f)
	n, ok, topicOK := map[string]int{}, map[string]int{}, map[string]int{}
	for sc.Scan() {
		var l struct {
			ID, Q, Division, Position, Date, Thread string
			Want                                    struct {
				Topic, Verdict string
				Also           []string
				Values, Facts  map[string]any
			}
		}
		if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
			t.Fatal(err)
		}
		on, err := measure.ParseDate(l.Date)
		if err != nil {
			t.Fatal(err)
		}
		var th *answers.Thread
		if l.Thread != "" {
			if th = threads[l.Thread]; th == nil {
				th = &answers.Thread{}
				threads[l.Thread] = th
			}
		}
		a, err := d.Ask(t.Context(), answers.Request{ID: l.ID, Text: l.Q, Division: l.Division, Position: l.Position, On: on}, th)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Contains(topics, l.Want.Topic) {
			continue
		}
		n[l.Want.Topic]++
		raw, _ := json.Marshal(a)
		var got struct {
			Topic, Verdict, Headline string
			Detail                   []string
			Values, Facts            map[string]any
			Missing                  []string
		}
		json.Unmarshal(raw, &got)
		var bad []string
		if got.Topic == l.Want.Topic {
			topicOK[l.Want.Topic]++
		} else {
			bad = append(bad, "TOPIC "+got.Topic)
		}
		if got.Verdict != l.Want.Verdict && !slices.Contains(l.Want.Also, got.Verdict) {
			bad = append(bad, "verdict "+got.Verdict+" want "+l.Want.Verdict)
		}
		for k, v := range l.Want.Values {
			if !eq(got.Values[k], v) {
				bad = append(bad, fmt.Sprintf("value %s=%v want %v", k, got.Values[k], v))
			}
		}
		for k, v := range l.Want.Facts {
			if !eq(got.Facts[k], v) {
				bad = append(bad, fmt.Sprintf("fact %s=%v want %v", k, got.Facts[k], v))
			}
		}
		if len([]rune(got.Headline)) > 140 || strings.ContainsAny(got.Headline+strings.Join(got.Detail, ""), "[]") || strings.Contains(got.Headline+strings.Join(got.Detail, ""), "?,") {
			bad = append(bad, "text "+got.Headline)
		}
		if len(bad) == 0 {
			ok[l.Want.Topic]++
			if os.Getenv("ZV") != "" {
				fmt.Printf("   %s %q (%s)\n      %s\n      %s\n", l.ID, l.Q, l.Division, got.Headline, strings.Join(got.Detail, "\n      "))
			}
			continue
		}
		fmt.Printf("%s [%s] %q (%s %s %s): %s\n    %s | %v | %v\n", l.ID, l.Want.Topic, l.Q, l.Division, l.Date, l.Thread, strings.Join(bad, "; "), got.Headline, got.Values, got.Facts)
	}
	for _, k := range topics {
		fmt.Println(k, ok[k], "/", n[k], "topic", topicOK[k])
	}
}

func eq(a, b any) bool {
	x, ok1 := a.(float64)
	y, ok2 := b.(float64)
	if ok1 && ok2 {
		return math.Abs(x-y) <= 0.02
	}
	if l, ok := b.([]any); ok {
		m, ok := a.([]any)
		if !ok || len(l) != len(m) {
			return false
		}
		for i := range l {
			if !eq(m[i], l[i]) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(a, b)
}
