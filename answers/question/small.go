package question

import "strings"

// diminutive adds to a Spanish word what it is the small form of: "abajito" is
// "abajo", "golpecito" is "golpe", "cerquita" is "cerca". What the word itself
// means goes first.
func (x *lexicon) diminutive(t *token, langs uint8) {
	stem, vowel, ok := smallOf(t)
	if !ok || langs&langES == 0 {
		return
	}
	put := func(base string) bool {
		id, ok := x.words[base]
		if !ok || x.langOf[id]&langES == 0 || int(t.nids) == len(t.ids) {
			return false
		}
		for k := 0; k < int(t.nids); k++ {
			if t.ids[k] == id {
				return true
			}
		}
		t.ids[t.nids] = id
		t.nids++
		return true
	}
	if c, ok := strings.CutSuffix(stem, "c"); ok { // golpecito, camioncito, piececito
		for _, base := range [...]string{c, strings.TrimSuffix(c, "e")} {
			if len(base) >= 3 && put(base) {
				return
			}
		}
	}
	for _, s := range [...]string{stem, hard(stem)} {
		for _, end := range [...]string{vowel, "e"} {
			if put(s + end) {
				return
			}
		}
	}
	if len(stem) > 3 && strings.ContainsAny(stem[len(stem)-1:], "lrnz") { // palmarcito's kin: "fusilito"
		put(stem)
	}
}

// smallOf cuts the ending of a small form.
func smallOf(t *token) (stem, vowel string, ok bool) {
	if t.kind != wordToken || len(t.text) < 6 {
		return "", "", false
	}
	w := strings.TrimSuffix(t.text, "s")
	vowel = w[len(w)-1:]
	stem, ok = strings.CutSuffix(w, "it"+vowel)
	return stem, vowel, ok && (vowel == "o" || vowel == "a") && len(stem) >= 3
}

// hard undoes the spelling that "i" asks for: "cerqu" is "cerc", "largu" "larg".
func hard(stem string) string {
	switch {
	case strings.HasSuffix(stem, "qu"):
		return stem[:len(stem)-2] + "c"
	case strings.HasSuffix(stem, "gu"):
		return stem[:len(stem)-1]
	case strings.HasSuffix(stem, "c"):
		return stem[:len(stem)-1] + "z"
	}
	return stem
}
