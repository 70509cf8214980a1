package rulesindex

import (
	"math/bits"
	"slices"
	"strings"
)

// A speller corrects words against those it was given. It looks at every word,
// but past two cheap tests only few remain: an edit changes a length by at most
// one and the set of letters by at most two. That costs a few microseconds with
// a club's vocabulary, nothing to build and no memory, where an index of
// deletions costs both at every start of the program.
type speller struct {
	words []spelled // by length, then as written
	from  [maxSpelled + 2]int
}

type spelled struct {
	text    string
	letters uint32
	count   int
}

// maxSpelled is the longest word that is corrected.
const maxSpelled = 24

// newSpeller takes the words of the book with their counts, and others that
// count as rare.
func newSpeller(counts, others map[string]int) *speller {
	s := &speller{}
	add := func(w string, n int) {
		if len(w) < 4 || len(w) > maxSpelled || strings.ContainsAny(w, "0123456789") {
			return
		}
		s.words = append(s.words, spelled{w, letters([]byte(w)), n})
	}
	for w, n := range counts {
		add(w, n)
	}
	for w, n := range others {
		if _, twice := counts[w]; !twice {
			add(w, n)
		}
	}
	slices.SortFunc(s.words, func(a, b spelled) int {
		if d := len(a.text) - len(b.text); d != 0 {
			return d
		}
		return strings.Compare(a.text, b.text)
	})
	i := 0
	for n := range s.from {
		for i < len(s.words) && len(s.words[i].text) < n {
			i++
		}
		s.from[n] = i
	}
	return s
}

// letters is the set of a word's letters.
func letters(w []byte) uint32 {
	var m uint32
	for _, c := range w {
		if 'a' <= c && c <= 'z' {
			m |= 1 << (c - 'a')
		} else {
			m |= 1 << 26
		}
	}
	return m
}

// edits is how many slips a word of that length may have. Short words are too
// close to each other for any.
func edits(n int) int {
	switch {
	case n < 4:
		return 0
	case n < 7:
		return 1
	}
	return 2
}

// correct is the nearest word and its distance; ok is false where none is near.
// Nearest first, then the same first letter, then the most frequent, then as in the alphabet.
func (s *speller) correct(w []byte) (best string, dist int, ok bool) {
	most := edits(len(w))
	if most == 0 || len(w) > maxSpelled {
		return "", 0, false
	}
	mask := letters(w)
	var row [3][maxSpelled + 1]uint8
	var top spelled
	dist = most + 1
	better := func(c spelled, d int) bool {
		if d != dist {
			return d < dist
		}
		if a, b := c.text[0] == w[0], top.text[0] == w[0]; a != b {
			return a
		}
		if c.count != top.count {
			return c.count > top.count
		}
		return c.text < top.text
	}
	lo, hi := max(len(w)-most, 4), min(len(w)+most, maxSpelled)
	for i := s.from[lo]; i < s.from[hi+1]; i++ {
		c := &s.words[i]
		if bits.OnesCount32(mask^c.letters) > 2*min(dist, most) {
			continue
		}
		d := distance(w, c.text, min(dist, most), &row)
		if d > most || !plausible(w, c.text, d) {
			continue
		}
		if better(*c, d) {
			top, dist = *c, d
		}
	}
	return top.text, dist, dist <= most
}

// plausible keeps corrections to slips that hands make: the first letter is
// hardly ever wrong, unless it changed places with the second.
func plausible(w []byte, c string, d int) bool {
	if w[0] == c[0] {
		return true
	}
	return len(w) >= 6 && (d == 1 || w[0] == c[1] && w[1] == c[0])
}

// distance is the optimal string alignment distance (insert, delete, replace,
// swap neighbours), or limit+1 where it is more than limit.
func distance(a []byte, b string, limit int, row *[3][maxSpelled + 1]uint8) int {
	two, one, cur := &row[0], &row[1], &row[2]
	for j := 0; j <= len(b); j++ {
		one[j] = uint8(j)
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = uint8(i)
		least := cur[0]
		for j := 1; j <= len(b); j++ {
			cost := uint8(1)
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d := min(one[j]+1, cur[j-1]+1, one[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, two[j-2]+1)
			}
			cur[j] = d
			least = min(least, d)
		}
		if int(least) > limit {
			return limit + 1
		}
		two, one, cur = one, cur, two
	}
	return int(one[len(b)])
}

// lxFreq are the words of the synonyms, as rare words for the spelling.
func lxFreq(v *vocabulary) map[string]int {
	out := map[string]int{}
	for _, w := range v.lx.enWords {
		if !v.lx.stop[w] {
			out[w] = 0
		}
	}
	return out
}

// spanishFreq are the words of the Spanish list.
func spanishFreq(v *vocabulary) map[string]int {
	out := map[string]int{}
	for w := range v.lx.spWords {
		if !v.lx.spStop[w] {
			out[w] = 0
		}
	}
	return out
}
