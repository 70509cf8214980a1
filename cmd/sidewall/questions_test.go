package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sidewall/bot"
)

func TestQuestions(t *testing.T) {
	file := filepath.Join(t.TempDir(), "state.db")
	now := time.Now()
	store, err := bot.OpenSQLite(t.Context(), file, now)
	if err != nil {
		t.Fatal(err)
	}
	for i, q := range []struct {
		why, text, division string
		days                int
	}{
		{bot.WhyNone, "where do we park at the away game?", "", 1},
		{bot.WhyNone, "Where can we park at away games", "U11", 3},
		{bot.WhyMissed, "parking at the away game?", "U13", 2},
		{bot.WhyNeed, "is a tinted visor ok", "U9", 5},
		{bot.WhyNone, "what about \x1b[31mred ink", "", 6},
		{bot.WhyNone, "an old question about shoes", "", 45},
	} {
		err := store.Miss(t.Context(), bot.Missed{Source: fmt.Sprint(i), Why: q.why, Text: q.text, Division: q.division, Lang: "en", At: now.AddDate(0, 0, -q.days)})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	run := func(args ...string) (int, string, string) {
		var out, errs bytes.Buffer
		code := execute(t.Context(), append([]string{"questions", "--state-path", file}, args...), strings.NewReader(""), &out, &errs)
		return code, out.String(), errs.String()
	}
	code, out, errs := run()
	if code != 0 || !strings.HasPrefix(out, "5 open questions in the last 30d, 3 groups:\n\n   3  ") {
		t.Errorf("%d %s\n%s", code, errs, out)
	}
	for _, want := range []string{"(nothing was found 2; said to be no answer 1; U11, U13; last on ", "   1  is a tinted visor ok\n", "asked back, and never ended 1; U9"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in:\n%s", want, out)
		}
	}
	if strings.Contains(out, "shoes") || strings.Contains(out, "\x1b") {
		t.Errorf("%q", out)
	}
	if code, out, _ := run("--since", "60d"); code != 0 || !strings.Contains(out, "shoes") {
		t.Errorf("%d %s", code, out)
	}
	if code, out, _ := run("--since", "1h"); code != 0 || out != "No open questions in the last 1h.\n" {
		t.Errorf("%d %s", code, out)
	}
	if code, _, errs := run("--since", "soon"); code != exitUsage || !strings.Contains(errs, "write it as 90d") {
		t.Errorf("%d %s", code, errs)
	}
}
