package question

import "slices"

// A program that answers one question needs the phrases of that question's words
// only. Reading those and passing over the rest takes a fraction of the memory and
// time, most of all in Spanish. A recogniser that was narrowed so hands whatever
// it can't know to the whole one: another question's words, and slips, which may
// be corrected to any word.

// wordSet are the words of one question.
type wordSet struct {
	texts []string            // as they stand
	exact map[string]struct{} // what lookup may look up for them, stems apart
	pairs [256]uint64         // the second letters by the first, which rule most words out
	heard map[string][]heardAs
}

// wordsOf collects the words of a question as a recogniser may see them.
func wordsOf(text string) (*wordSet, error) {
	s := &wordSet{exact: map[string]struct{}{}}
	if len(text) > MaxLen { // it is not read
		text = ""
	}
	q := Question{toks: tokenize(fold(text), []token{})}
	var err error
	if s.heard, err = readHeard(q.toks); err != nil {
		return nil, err
	}
	q.r = &Recogniser{heard: s.heard}
	q.hearRight()
	for i := range q.toks {
		t := &q.toks[i]
		s.add(t.text)
		s.add(shorthand(t.text))
	}
	return s, nil
}

func (s *wordSet) add(w string) {
	if w == "" || slices.Contains(s.texts, w) {
		return
	}
	s.texts = append(s.texts, w)
	for n := len(w); n > 0 && n >= len(w)-2; n-- { // without the "s" and "es" of a plural
		s.exact[w[:n]] = struct{}{}
	}
	if len(w) > 1 {
		s.pairs[w[0]] |= 1 << (w[1] & 63)
	}
}

// has says whether a word of the question may be w, which may be a stem and its *.
func (s *wordSet) has(w string) bool {
	if len(w) > 2 && s.pairs[w[0]]&(1<<(w[1]&63)) == 0 {
		return false
	}
	if n := len(w) - 1; w[n] == '*' {
		for _, t := range s.texts {
			if len(t) >= n && t[:n] == w[:n] {
				return true
			}
		}
		return false
	}
	_, ok := s.exact[w]
	return ok
}

// covers says whether all the words are of the question.
func (s *wordSet) covers(toks []token) bool {
	for i := range toks {
		if !slices.Contains(s.texts, toks[i].text) {
			return false
		}
	}
	return true
}
