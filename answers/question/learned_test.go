package question

import (
	"sort"
	"strings"
	"testing"
)

// The text of the weights and the table must say the same of any question.
func TestWeightsTextAndTable(t *testing.T) {
	english, err := NewRecogniser(Vocabulary{Divisions: []Division{{ID: "U11", Under: 11}}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := english.both()
	if err != nil {
		t.Fatal(err)
	}
	table, err := r.w.tabulate(r.x)
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for _, text := range []string{
		"U11 attack, 45-inch stick?",
		"can he play without shoulder pads, or does the goalie not need them",
		"one minute slash at 3:20 in the 2nd when is he back",
		"puede usar un palo de 45 pulgadas mi hijo de la sub 11",
		"thunder at 5:42, when can we restart",
		"zzz",
	} {
		q := r.Read(text, "")
		var tags []Tag
		for n := range r.x.names {
			if q.set.has(Tag(n)) && r.learn[n] {
				tags = append(tags, Tag(n))
			}
		}
		sum := func(read func(f func([]weight))) (acc [maxTopics]int32) {
			read(func(row []weight) {
				rows++
				for _, w := range row {
					acc[w.topic] += w.n
				}
			})
			return acc
		}
		all := Scope{start: 0, end: len(q.toks)}
		byTable := sum(func(f func([]weight)) { q.tableFeatures(table, all, tags, f) })
		byText := sum(func(f func([]weight)) { q.textFeatures(r.w, all, tags, f) })
		if byTable != byText {
			t.Errorf("%q: the table gives %v, the text %v", text, byTable, byText)
		}
	}
	if rows < 20 {
		t.Errorf("only %d rows were read; the questions do not try the weights", rows)
	}
}

func TestWeightsAreInOrder(t *testing.T) {
	_, text, _ := strings.Cut(weightsText, "\nbias ")
	_, text, _ = strings.Cut(text, "\n")
	var names []string
	for line := range strings.Lines(text) {
		name, _, _ := strings.Cut(line, " ")
		names = append(names, name)
	}
	if len(names) < 1000 || !sort.StringsAreSorted(names) {
		t.Errorf("%d features, in order: %v", len(names), sort.StringsAreSorted(names))
	}
}

func TestReadAheadIsTakenOnce(t *testing.T) {
	a := ReadAhead()
	for _, id := range []string{"U11", "Red"} { // the second must not meet the first one's words
		r, err := a.NewRecogniser(Vocabulary{Divisions: []Division{{ID: id, Aliases: []string{id + "team"}}}})
		if err != nil {
			t.Fatal(err)
		}
		q := r.Read("U11team Redteam", "")
		if len(q.divs) != 1 || q.divs[0].index != 0 {
			t.Errorf("%s: divisions %+v", id, q.divs)
		}
	}
}
