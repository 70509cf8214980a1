package question

import "sidewall/answers/measure"

// warmSaid takes a bare number for a temperature in Spanish where the verb says
// so: "hace 97 afuera", "estamos a 95", "el termómetro marca 101".
func (q *Question) warmSaid() {
	if q.Lang != "es" {
		return
	}
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Bare || u.Lo != u.Hi || u.Lo < coolest*measure.One || u.Hi > hottest*measure.One || u.start == 0 {
			continue
		}
		i := u.start - 1
		if i > 0 && (q.wordAt(i, "como") || q.wordAt(i, "casi") || q.wordAt(i, "unos") || q.wordAt(i, "mas") || q.wordAt(i, "ya")) {
			i--
		}
		switch q.toks[i].text {
		case "hace", "hacen", "hacia", "hara":
		case "a":
			if i == 0 || !q.wordAt(i-1, "estamos") && !q.wordAt(i-1, "andamos") && !q.wordAt(i-1, "amanecimos") && !q.wordAt(i-1, "llegamos") {
				continue
			}
		case "marca", "marcaba", "marcan", "sube":
			if !q.saysTag("heat", "outdoors") {
				continue
			}
		default:
			continue
		}
		if u.end < len(q.toks) && q.toks[u.end].kind == wordToken {
			switch q.toks[u.end].text {
			case "afuera", "aqui", "ahorita", "ahora", "hoy", "y", "con", "en", "de", "pero", "se", "podemos", "pueden", "puedo", "la", "a", "allá", "alla", "afuerita", "mañana", "esta", "que", "sin", "para":
			default:
				continue // "hace 60 dias"
			}
		}
		u.Kind, u.Unit = Warmth, q.x.std.degree
	}
}

func (q *Question) saysTag(tags ...string) bool {
	for k := range q.hits {
		if q.is(&q.hits[k], tags...) {
			return true
		}
	}
	return false
}
