package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sidewall/answers"
)

// The checks of sticks, gear, balls and ages: what published rules give a value for.
var publishedTopics = []string{
	"crosse-length", "crosse-choice", "long-crosse-count", "crosse-head", "pocket", "stringing", "crosse-end",
	"mouthguard", "helmet", "gloves", "gear-list", "gear-item", "ball", "division",
}

// TestOutsideValues asks questions whose right answers were taken from outside
// the project (a published rule, a formula, common practice), each beside its
// source. The words are plain; the values are what is tested.
func TestOutsideValues(t *testing.T) {
	ctx := t.Context()
	files, err := filepath.Glob(filepath.Join(top, "testdata", "outside", "*.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	d, done, err := openDesk(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	defer done()

	const least, leastOfPublished = 150, 120
	rows, seen, of := 0, map[string]bool{}, map[string]int{}
	for _, name := range files {
		ls, err := readCorpus(name)
		if err != nil {
			t.Fatal(err)
		}
		threads := map[string]*answers.Thread{}
		for i := range ls {
			l := &ls[i]
			rows++
			of[l.Want.Topic]++
			switch {
			case l.ID == "" || seen[l.ID]:
				t.Errorf("%s:%d: id %q is empty or used twice", name, l.line, l.ID)
			case strings.TrimSpace(l.Source) == "":
				t.Errorf("%s:%d: %s has no source", name, l.line, l.ID)
			case l.Date == "":
				t.Errorf("%s:%d: %s has no date: its rules would change under it", name, l.line, l.ID)
			case l.Gap != "" || len(l.Want.Also) > 0:
				t.Errorf("%s:%d: %s has a gap or a second right answer; these rows have one each", name, l.line, l.ID)
			}
			seen[l.ID] = true
			a, err := run(ctx, d, l, threads)
			if err != nil {
				t.Fatal(err)
			}
			if o, why := judge(l, a); o != right {
				t.Errorf("%s: wrong %s: %s\n\tasked: %s\n\tsource: %s\n\tanswered: %s", l.ID, o, why, l.Q, l.Source, a.Headline)
			}
		}
	}
	if rows < least {
		t.Errorf("%d rows, want at least %d", rows, least)
	}
	published := 0
	for topic, n := range of {
		if slices.Contains(publishedTopics, topic) {
			published += n
		}
	}
	if published < leastOfPublished {
		t.Errorf("%d rows of the topics with published values, want at least %d", published, leastOfPublished)
	}
	for _, topic := range publishedTopics {
		if of[topic] == 0 {
			t.Errorf("no row of %s", topic)
		}
	}
}
