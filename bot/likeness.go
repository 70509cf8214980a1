package bot

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
)

// Asked is what several people asked and the book did not answer, in other words.
type Asked struct {
	Text      string // the question that is most like the others
	Others    []string
	Count     int            // of all of them
	Whys      map[string]int // how often each of WhyNone, WhyNeed, WhyMissed
	Topics    []string       // that they were taken for, if any
	Divisions []string
	First     time.Time
	Last      time.Time
}

// likeEnough is the share of their words that two questions have to have in
// common to be asked as one: with less, "can my son wear a visor" is like "can my
// son play up", with more only the same words are.
const likeEnough = 0.5

// GroupMissed puts open questions together that ask alike, the most asked first.
func GroupMissed(missed []Missed) []Asked {
	type member struct {
		m     *Missed
		words []string
	}
	type group struct {
		members []member
		words   map[string]int // in how many members
	}
	var groups []*group
	for i := range missed {
		m := member{&missed[i], contentWords(missed[i].Text)}
		var best *group
		most := likeEnough
		for _, g := range groups {
			// Against each of them: a chain of neighbours would in the end join all.
			sum := 0.0
			for _, o := range g.members {
				sum += likeness(m.words, o.words)
			}
			if l := sum / float64(len(g.members)); l >= most {
				best, most = g, l
			}
		}
		if best == nil {
			best = &group{words: map[string]int{}}
			groups = append(groups, best)
		}
		best.members = append(best.members, m)
		for _, w := range m.words {
			best.words[w]++
		}
	}
	out := make([]Asked, 0, len(groups))
	for _, g := range groups {
		a := Asked{Count: len(g.members), Whys: map[string]int{}, First: g.members[0].m.At, Last: g.members[0].m.At}
		middle := slices.MaxFunc(g.members, func(x, y member) int {
			return cmp.Compare(shared(x.words, g.words), shared(y.words, g.words))
		})
		a.Text = middle.m.Text
		for _, x := range g.members {
			a.Whys[x.m.Why]++
			a.Topics = addOnce(a.Topics, x.m.Topic)
			a.Divisions = addOnce(a.Divisions, x.m.Division)
			if x.m.Text != a.Text {
				a.Others = addOnce(a.Others, x.m.Text)
			}
			if x.m.At.Before(a.First) {
				a.First = x.m.At
			}
			if x.m.At.After(a.Last) {
				a.Last = x.m.At
			}
		}
		out = append(out, a)
	}
	slices.SortStableFunc(out, func(x, y Asked) int {
		if c := cmp.Compare(y.Count, x.Count); c != 0 {
			return c
		}
		return y.Last.Compare(x.Last)
	})
	return out
}

func addOnce(in []string, s string) []string {
	if s == "" || slices.Contains(in, s) {
		return in
	}
	return append(in, s)
}

// shared is how much a question's words are those of its group, by word.
func shared(words []string, in map[string]int) float64 {
	n := 0
	for _, w := range words {
		n += in[w]
	}
	return float64(n) / float64(len(words)+1)
}

// likeness is the share of the words of two questions that both have.
func likeness(a, b []string) float64 {
	if len(a)+len(b) == 0 {
		return 1 // two questions that hold nothing to tell them apart
	}
	both := 0
	for _, w := range a {
		if slices.Contains(b, w) {
			both++
		}
	}
	return float64(2*both) / float64(len(a)+len(b))
}

// smallWords stand in any question, and make none like another.
var smallWords = sync.OnceValue(func() map[string]bool {
	return wordSet(`a an the is are am be was were do does did can could may must should would will shall have has had i me my we us our you your he his him she her they their them it its
	this that these those there here what which who whom when where why how if or and but not no so to of in on at by for from with as about up out just also then than any some all kid kids son boy boys child
	please thanks hi hello hey ok need want get got let allowed rule rules say tell know anyone
	el la los las un una unos unas es son ser está están de del al en con por para a y o u que qué cual cuál quien quién cuando cuándo donde dónde como cómo si no se su sus mi mis nos le les lo puede pueden
	debe hay mi hijo niño favor gracias hola regla reglas name number contact`)
})

func wordSet(text string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(text) {
		out[w] = true
	}
	return out
}

// contentWords are the words of a question that say what it is about, each once,
// without their plural.
func contentWords(text string) []string {
	var out []string
	small := smallWords()
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if small[w] || len([]rune(w)) < 2 {
			continue
		}
		out = addOnce(out, singular(w))
	}
	return out
}

// singular cuts what makes a plural or a form of a verb in both languages; it
// need not be a word, as long as two forms of one come out alike.
func singular(w string) string {
	for _, end := range []string{"ing", "ed", "es", "s"} {
		if cut, ok := strings.CutSuffix(w, end); ok && len([]rune(cut)) >= 4 {
			w = cut
			break
		}
	}
	if cut, ok := strings.CutSuffix(w, "e"); ok && len([]rune(cut)) >= 4 {
		w = cut
	}
	return w
}
