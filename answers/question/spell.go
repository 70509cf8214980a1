package question

import (
	"math/bits"
	"sort"
	"strings"
)

// spellWord is a lexicon word with the set of its letters, which rules most
// candidates out before any distance is computed.
type spellWord struct {
	text    string
	letters uint32
	id      int32
	lang    uint8
}

// Words shorter than shortWord are never corrected; longWord and longer may
// have two slips.
const (
	shortWord = 5
	longWord  = 8
)

func letterSet(s string) uint32 {
	var m uint32
	for i := 0; i < len(s); i++ {
		if c := s[i]; c >= 'a' && c <= 'z' {
			m |= 1 << (c - 'a')
		}
	}
	return m
}

// spellWords lists the words that a slip may be corrected to.
func (x *lexicon) spellWords() []spellWord {
	var out []spellWord
	for w, id := range x.words {
		if len(w) >= shortWord && x.fuzzy[id] {
			out = append(out, spellWord{w, letterSet(w), id, x.langOf[id]})
		}
	}
	for w, id := range x.stems {
		if len(w) >= shortWord && x.fuzzy[id] {
			out = append(out, spellWord{w, letterSet(w), id, x.langOf[id]})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].text < out[j].text })
	return out
}

// correct finds the lexicon word nearest to w: within one edit (a letter more,
// less, other, or two swapped), for long words within two; the first letter must
// be right where two are needed. A tie between two different words is no answer.
func (x *lexicon) correct(w string, langs uint8) (int32, bool) {
	if id, ok := x.nearest(w, langs); ok || len(w) <= shortWord || w[len(w)-1] != 's' {
		return id, ok
	}
	return x.nearest(w[:len(w)-1], langs) // lexicons have the singular of many words only
}

func (x *lexicon) nearest(w string, langs uint8) (int32, bool) {
	if len(w) < shortWord || len(w) > 24 {
		return 0, false
	}
	limit := 1
	if len(w) >= longWord {
		limit = 2
	}
	set := letterSet(w)
	best, bestDist, tie := int32(-1), limit+1, false
	words := x.spell()
	for k := range words {
		c := &words[k]
		if c.lang&langs == 0 {
			continue
		}
		d := len(c.text) - len(w)
		if d > limit || d < -limit || bits.OnesCount32(c.letters^set) > 2*limit {
			continue
		}
		dist := editDistance(w, c.text, min(limit, bestDist))
		if dist == 2 && c.text[0] != w[0] {
			continue
		}
		switch {
		case dist < bestDist:
			best, bestDist, tie = c.id, dist, false
		case dist == bestDist && dist <= limit && c.id != best:
			if !strings.HasPrefix(c.text, w[:1]) {
				continue
			}
			if prev := x.wordOf(best); !strings.HasPrefix(prev, w[:1]) {
				best = c.id
				continue
			}
			tie = true
		}
	}
	if best < 0 || tie && bestDist > 1 {
		return 0, false
	}
	return best, true
}

// respell gives a token the ids of the word that its spelling was corrected to:
// the word may stand in the lexicon whole and as a stem.
func (x *lexicon) respell(t *token, id int32, langs uint8) {
	slip := t.text
	t.text = x.wordOf(id)
	x.lookup(t, langs)
	t.text = slip
	if t.nids == 0 {
		t.ids[0], t.nids = id, 1
	}
}

func (x *lexicon) wordOf(id int32) string {
	words := x.spell()
	for k := range words {
		if words[k].id == id {
			return words[k].text
		}
	}
	return ""
}

// editDistance is the optimal string alignment distance of two ASCII words, or
// limit+1 where it is more.
func editDistance(a, b string, limit int) int {
	if len(a) > 30 || len(b) > 30 {
		return limit + 1
	}
	var rows [3][32]int
	for j := 0; j <= len(b); j++ {
		rows[0][j] = j
	}
	prev2, prev, cur := &rows[2], &rows[0], &rows[1]
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		low := cur[0]
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			v := min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				v = min(v, prev2[j-2]+1)
			}
			cur[j] = v
			low = min(low, v)
		}
		if low > limit {
			return limit + 1
		}
		prev2, prev, cur = prev, cur, prev2
	}
	if prev[len(b)] > limit {
		return limit + 1
	}
	return prev[len(b)]
}
