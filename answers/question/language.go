package question

import (
	"strings"
	"unicode"
)

// surelyEnglish says whether the question stays English whatever Spanish words
// its unknown words may be (see language).
func (q *Question) surelyEnglish() bool {
	en, perhaps := 0, 0
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || t.glued && i > 0 && q.toks[i-1].kind == numberToken {
			continue
		}
		if id, ok := q.x.words[t.text]; ok {
			if p := q.x.alone(id); p != nil {
				fnEN, fnES := contains(q.x.lists[p.en], q.r.fn), contains(q.x.lists[p.es], q.r.fn)
				if fnEN && !fnES {
					en += 2
				}
				if fnES && !fnEN {
					perhaps += 2
				}
				if fnEN || p.en != 0 {
					continue
				}
			}
		}
		perhaps++
	}
	return perhaps <= en && !strings.ContainsAny(q.Text, spanishMarks)
}

// spanishMarks tell Spanish where no word does.
const spanishMarks = "¿¡ñ"

// language finds the language from function words; trade words do not count.
func (q *Question) language(before string) string {
	en, es, other, alien, latin := 0, 0, 0, 0, 0
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || t.glued && i > 0 && q.toks[i-1].kind == numberToken { // "2do", "4to"
			continue
		}
		for _, c := range t.text {
			if unicode.Is(unicode.Latin, c) {
				latin++
			} else {
				alien++
			}
			break
		}
		fnEN, fnES := false, false
		if id, ok := q.x.words[t.text]; ok {
			if p := q.x.alone(id); p != nil {
				fnEN, fnES = contains(q.x.lists[p.en], q.r.fn), contains(q.x.lists[p.es], q.r.fn)
			}
			switch {
			case fnEN && !fnES:
				en += 2
			case fnES && !fnEN:
				es += 2
			case !fnEN && !fnES && q.x.langOf[id] == langES:
				es++
			}
		} else {
			q.x.lookup(t, langES)
			if t.nids > 0 && q.x.langOf[t.ids[0]] == langES {
				es++
			}
		}
		if _, ok := q.r.foreign[t.text]; ok && !fnEN && !fnES {
			other += 2
		}
	}
	switch {
	case alien > latin:
		return "other"
	case other > en && other > es && other >= 4:
		return "other"
	case es > en:
		return "es"
	}
	if en == 0 && es == 0 && (before == "es" || strings.ContainsAny(q.Text, spanishMarks)) {
		return "es"
	}
	return "en"
}
