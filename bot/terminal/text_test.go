package terminal

import (
	"strings"
	"testing"

	"sidewall/answers/answer"
)

func full() *answer.Answer {
	a := answer.New(answer.Check, "crosse-length", answer.NotLegal, "Officials decide.")
	a.Headline = "Not legal: too long."
	a.Detail = []string{"Cut it.", "Short 1–2 in.", strings.Repeat("a long line ", 9), "Measure again.", "And again."}
	a.Basis = []answer.Basis{
		{Layer: "youth", Rule: "crosse length: short", Value: "1–2 in", From: "2014-01-01", Source: "s", Replaces: "high school 3–4 in"},
		{Layer: "youth", Rule: "crosse length: long", Value: "5–6 in", From: "2014-01-01", Source: "s", Replaces: "high school 7–8 in"},
		{Layer: "club", Rule: "pocket: mesh", Value: "true", From: "2020-01-01", Source: "c"},
		{Layer: "club", Rule: "pocket: depth", Value: "6 in", From: "2020-01-01", Source: "c"},
	}
	a.Summaries = []answer.Found{{Title: "Sticks", Section: "Field"}, {Title: "Heads"}}
	return a
}

func TestText(t *testing.T) {
	const rule = "Rule: crosse length: short 1–2 in, long 5–6 in (youth layer, from 2014-01-01; replaces high school 3–4 in / 7–8 in); pocket: mesh (club layer, from 2020-01-01); and 1 more."
	tests := []struct {
		name  string
		style Style
		edit  func(*answer.Answer)
		want  []string
	}{
		{"five lines and the caution", Style{More: "--all"}, nil, []string{
			"Not legal: too long.", "Cut it. Short 1–2 in.", strings.Repeat("a long line ", 9) + " (1 more line: --all)", rule, "Read more: Sticks › Field", "Officials decide."}},
		{"everything", Style{All: true}, nil, []string{
			"Not legal: too long.", "Cut it. Short 1–2 in.", strings.Repeat("a long line ", 9), "Measure again. And again.",
			"Rule: crosse length: short 1–2 in, long 5–6 in (youth layer, from 2014-01-01, s; replaces high school 3–4 in / 7–8 in); pocket: mesh, depth 6 in (club layer, from 2020-01-01, c).",
			"Read more: Sticks › Field; Heads", "Officials decide."}},
		{"Spanish", Style{}, func(a *answer.Answer) { a.Lang, a.Detail, a.Basis = "es", nil, a.Basis[:1] }, []string{
			"Not legal: too long.", "Regla: crosse length: short 1–2 in (capa youth, desde 2014-01-01; en lugar de high school 3–4 in).", "Más en: Sticks › Field", "Officials decide."}},
		{"a summary has no rule line", Style{}, func(a *answer.Answer) { a.Kind, a.Detail = answer.Summary, a.Detail[:1] }, []string{
			"Not legal: too long.", "Cut it.", "Read more: Sticks › Field", "Officials decide."}},
		{"a rule stands once, and no is no", Style{}, func(a *answer.Answer) {
			a.Detail, a.Summaries = nil, nil
			a.Basis = []answer.Basis{a.Basis[0], a.Basis[0], {Layer: "youth", Rule: "crosse length: taller", Value: "false", From: "2014-01-01", Source: "s", Replaces: "high school 3–4 in"}}
		}, []string{"Not legal: too long.", "Rule: crosse length: short 1–2 in, taller no (youth layer, from 2014-01-01; replaces high school 3–4 in).", "Officials decide."}},
		{"choices with numbers", Style{Number: true}, func(a *answer.Answer) {
			a.Choices, a.Detail, a.Basis, a.Summaries = []string{"U9", "U11"}, nil, nil, nil
		}, []string{"Not legal: too long.", "1 U9   2 U11", "Officials decide."}},
		{"nothing steers the terminal", Style{}, func(a *answer.Answer) {
			a.Headline, a.Detail, a.Basis, a.Summaries = "a\x1b[2Jb\r\nc\u202ed", nil, nil, nil
		}, []string{"a[2Jb cd", "Officials decide."}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := full()
			if tt.edit != nil {
				tt.edit(a)
			}
			want := strings.Join(tt.want, "\n") + "\n"
			if got := Text(a, tt.style); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

func TestTextOfParts(t *testing.T) {
	one, two, three := full(), full(), answer.New(answer.Check, "heat", answer.Info, "Ask a doctor.")
	three.Headline = "It is hot."
	for _, a := range []*answer.Answer{one, two} {
		a.Detail, a.Basis, a.Summaries = nil, nil, nil
	}
	top := full()
	top.Parts = []*answer.Answer{one, two, three}
	want := "Not legal: too long.\n\nNot legal: too long.\nOfficials decide.\n\nIt is hot.\nAsk a doctor.\n"
	if got := Text(top, Style{}); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
