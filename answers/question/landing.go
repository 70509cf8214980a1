package question

import (
	"io/fs"
	"strings"
	"sync"
)

// landing reads where a hit lands from the part of the body and the words before
// it: "de las rodillas para abajo", "a la altura del pescuezo", "le cayó en los
// riñones". The parts are in data/landing.txt, each with the zone that it is of; what
// the zone means for a hit is added to its phrase. A place that no lexicon knows
// is marked, so that nothing is called legal for it.
func (q *Question) landing() {
	if q.Lang != "es" {
		q.unknownPlace()
		return
	}
	for i := range q.toks {
		if q.toks[i].kind != wordToken {
			continue
		}
		zone := q.zoneAt(i)
		h := q.hitAt[i]
		if zone == "" && h < 0 {
			zone = nearZone(q.toks[i].text)
		}
		if zone == "" {
			if h < 0 && len(q.toks[i].text) > 3 && !q.partOfField(i) && !q.r.isCommon(q.toks[i].text) && q.landedOn(i, false) {
				q.hits = append(q.hits, hit{tags: q.tagList("place:unknown"), start: i, end: i + 1})
				q.hitAt[i] = int16(len(q.hits) - 1)
			}
			continue
		}
		if h >= 0 && q.inGroup(&q.hits[h], "act") && q.hits[h].end-q.hits[h].start > 1 || !q.landedOn(i, true) {
			continue
		}
		if tags := q.tagList(q.zoneActs(i, zone)...); len(tags) > 0 {
			if h < 0 {
				q.hits = append(q.hits, hit{start: i, end: i + 1})
				h = int16(len(q.hits) - 1)
				q.hitAt[i] = h
			}
			have := q.hits[h].tags
			q.hits[h].tags = append(have[:len(have):len(have)], tags...)
		}
	}
}

// unknownPlace marks where an English question says that a hit landed on something
// that no lexicon knows: "hit him in the ziggurat".
func (q *Question) unknownPlace() {
	for i := 2; i < len(q.toks); i++ {
		t := &q.toks[i]
		if t.kind != wordToken || q.hitAt[i] >= 0 || len(t.text) < strangeLen || q.r.isCommon(t.text) {
			continue
		}
		switch q.toks[i-1].text {
		case "the", "his", "their", "our":
		default:
			continue
		}
		switch q.toks[i-2].text {
		case "in", "on", "to", "into", "at", "across", "against":
		default:
			continue
		}
		for k := range q.hits {
			h := &q.hits[k]
			if h.end <= i-2 && i-2-h.end <= 3 && q.sameSentence(h.start, i) && q.is(h, "act:body-check", "act:takeout") {
				q.hits = append(q.hits, hit{tags: q.tagList("place:unknown"), start: i, end: i + 1})
				q.hitAt[i] = int16(len(q.hits) - 1)
				break
			}
		}
	}
}

// zoneActs are the acts that a hit on the part at token i is.
func (q *Question) zoneActs(i int, zone string) []string {
	above, below := q.sideOf(i)
	stick := false
	for k := range q.hits {
		h := &q.hits[k]
		stick = stick || q.sameSentence(h.start, i) && q.is(h, "stick", "act:stick-check", "act:one-handed", "foul:slashing") && !q.is(h, "act:body-check")
	}
	switch {
	case zone == "waist" && above:
		zone = "trunk"
	case zone == "waist", zone == "belly" && below:
		zone = "low"
	case zone == "belly" && !above:
		zone = "trunk"
	case zone == "trunk" && (above || below), zone == "belly", zone == "neck" && below, zone == "low" && above:
		return []string{"place:unknown"}
	}
	switch {
	case zone == "head" && stick:
		return []string{"act:to-head", "act:stick-check"}
	case zone == "head":
		return []string{"act:to-head"}
	case stick:
		return []string{"act:on-body", "act:stick-check"}
	case zone == "neck":
		return []string{"act:above-shoulders"}
	case zone == "low":
		return []string{"act:below-waist"}
	case zone == "back":
		return []string{"act:from-behind"}
	}
	return nil
}

// sideOf says whether a hit is told to land above or below the part at token i:
// "abajo de la rodilla", "del ombligo para arriba".
func (q *Question) sideOf(i int) (above, below bool) {
	look := func(from, to int) {
		for j := max(0, from); j < min(to, len(q.toks)); j++ {
			switch q.toks[j].text {
			case "arriba", "arribita", "parriba", "encima":
				above = true
			case "abajo", "abajito", "pabajo", "debajo", "debajito", "bajo":
				below = true
			}
		}
	}
	look(i-3, i)
	if q.wordAt(i+1, "para") || q.wordAt(i+1, "hacia") || q.wordAt(i+1, "y") || q.wordAt(i+1, "o") || q.wordAt(i+1, "parriba") || q.wordAt(i+1, "pabajo") {
		look(i+1, i+4)
	}
	return above, below
}

const landsWithin = 12 // tokens between a hit and where it lands

// landedOn says whether the word at token i is where a hit lands: a word for a
// place stands before it ("en la", "a la altura de la") or the verb itself, and
// a verb of hitting in its sentence. Somebody who hit himself hit nobody else.
func (q *Question) landedOn(i int, part bool) bool {
	head := part && q.zoneAt(i) == "head" // who hit his own head is asked about as well
	j := i - 1
	for j >= 0 {
		switch q.toks[j].text {
		case "el", "la", "los", "las", "su", "sus", "mi", "mis", "mera", "mero", "pura", "puro", "propia", "propio", "una", "un", "lo", "toda", "todo", "plena", "pleno", "parte":
			j--
			continue
		}
		break
	}
	if j < 0 || !part && j == i-1 || q.toks[i].text == "frente" && !q.wordAt(i-1, "la") && !q.wordAt(i-1, "su") {
		return false
	}
	switch q.toks[j].text {
	case "en", "a", "al", "contra", "sobre", "por", "hasta", "hacia":
	case "de", "del", "arriba", "abajo", "entre", "bajo", "debajo", "encima":
		if !part {
			return false
		}
	default:
		if !part || !q.hitting(j) {
			return false
		}
	}
	for k := j; k >= 0 && j-k <= landsWithin && q.sameSentence(k, i); k-- {
		if q.hitting(k) && (head || !(k > 0 && (q.wordAt(k-1, "se") || q.wordAt(k-1, "me")))) {
			return part || q.hittingHim(k) || k == j-1 && (q.wordAt(k, "check") || q.wordAt(k, "checks")) && !q.partOfField(i)
		}
	}
	if part {
		for k := i + 1; k < len(q.toks) && k-i <= landsWithin && q.sameSentence(k, i); k++ {
			if q.hitting(k) {
				return true
			}
		}
	}
	return false
}

// partOfField says whether the word at token i is where on the field something is,
// or no place of its own.
func (q *Question) partOfField(i int) bool {
	switch q.toks[i].text {
	case "mera", "mero", "pura", "puro", "propia", "propio", "plena", "pleno", "misma", "mismo": // "en la mera nuca"
		return true
	case "esquina", "banda", "linea", "cancha", "campo", "jugada", "area", "practica", "partido", "torneo", "liga", "juego", "entrenamiento", "categoria", "division":
		return true
	}
	return false
}

// hitting says whether the word at token i is one of hitting, whatever phrase has it.
func (q *Question) hitting(i int) bool {
	w := landingWords()[q.toks[i].text]
	return w == "hit" || w == "charge"
}

// hittingHim leaves out verbs that need no target: one charges in a corner.
func (q *Question) hittingHim(i int) bool { return landingWords()[q.toks[i].text] == "hit" }

// zoneAt is the zone of the part of the body at token i; "" for no part.
func (q *Question) zoneAt(i int) string {
	switch z := landingWords()[q.toks[i].text]; z {
	case "hit", "charge":
		return ""
	default:
		return z
	}
}

// landingWords are the words of data/landing.txt, each with what it is. They are
// no phrases of a lexicon, where a whole word hides the stem that another line has.
var landingWords = sync.OnceValue(func() map[string]string {
	raw, err := fs.ReadFile(data, "data/landing.txt")
	if err != nil {
		return nil // embedded: a test reads it
	}
	words := make(map[string]string, 600)
	for line := range strings.Lines(string(raw)) {
		kind, list, ok := strings.Cut(line, ": ")
		if !ok || line[0] == '#' {
			continue
		}
		for _, w := range strings.Fields(list) {
			words[w] = kind
		}
	}
	return words
})

func (q *Question) tagList(names ...string) []Tag {
	var out []Tag
	for _, n := range names {
		if t, ok := q.x.tags[n]; ok {
			out = append(out, t)
		}
	}
	return out
}

// nearZone is the zone of the part of the body that an unknown word is one slip
// away from: "rodilals".
func nearZone(word string) string {
	if len(word) < landingSlip {
		return ""
	}
	zone := ""
	for w, z := range landingWords() {
		if z == "hit" || z == "charge" || len(w) < landingSlip || w[0] != word[0] || editDistance(word, w, 1) > 1 {
			continue
		}
		if zone != "" && zone != z {
			return "" // two parts are as near
		}
		zone = z
	}
	return zone
}

// landingSlip is the length from which a word may be a slip of another.
const landingSlip = 6
