package question

import "strings"

// Known says whether the lexicons have a word, as it is or by its stem: such a
// word is of the game or of everyday speech, and hardly somebody's name.
func (r *Recogniser) Known(word string) bool {
	if r.only != nil {
		r = r.whole()
	}
	w := strings.NewReplacer("'", "", "’", "").Replace(fold(word))
	if _, ok := r.x.words[w]; ok {
		return true
	}
	for n := len(w); n >= r.x.minStem && n > 0; n-- {
		if _, ok := r.x.stems[w[:n]]; ok {
			return true
		}
	}
	return false
}
