package question

// bareMidfield takes "medio" for the player where it stands like a person's name:
// "para medio", "u13, medio, palo de 41", "el medio?". Elsewhere it is a half or a
// place ("por el medio", "medio tiempo", "y medio").
func (q *Question) bareMidfield() {
	if q.Lang != "es" {
		return
	}
	for k := range q.hits {
		h := &q.hits[k]
		i := h.end - 1
		if q.toks[i].text != "medio" || i > h.start && (i != h.start+1 || q.toks[h.start].text != "el") || !q.standsAlone(i) {
			continue
		}
		person, ok1 := q.x.tags["person"]
		mid, ok2 := q.x.tags["pos:midfield"]
		if ok1 && ok2 {
			h.tags = []Tag{person, mid}
		}
	}
}

// standsAlone says whether the words around token i leave it a player.
func (q *Question) standsAlone(i int) bool {
	if i+1 < len(q.toks) && q.toks[i+1].sent == q.toks[i].sent {
		next := &q.toks[i+1]
		switch {
		case next.kind == markToken:
			if next.text != "," && next.text != "?" && next.text != ":" && next.text != ")" && next.text != "(" {
				return false
			}
		case next.kind == numberToken:
			if !q.unitlessDivision(i + 1) {
				return false
			}
		default:
			if _, _, ok := q.tagAt(i+1, gDiv); ok {
				break
			}
			if q.divisionFollows(i + 1) {
				break
			}
			switch next.text {
			case "en", "u", "sub", "iu", "con", "anda", "juega", "entra", "sale", "va", "necesita", "ocupa", "debe", "quiere", "trae", "lleva", "usa", "tiene", "que", "o", "hs", "se", "no", "sin", "puede", "mide":
			default:
				return false
			}
		}
	}
	if i == 0 || q.toks[i-1].sent != q.toks[i].sent || q.mark(i-1, ",") || q.mark(i-1, ":") || q.mark(i-1, "(") {
		return true
	}
	if q.toks[i-1].kind != wordToken {
		return false
	}
	switch q.toks[i-1].text {
	case "para", "un", "mi", "es", "como", "del", "su", "otro", "nuestro", "soy":
		return true
	case "el", "al": // "por el medio" is a place, and so is "la tira al medio"
		return q.toks[i-1].text == "el" && (i < 2 || q.wordAt(i-2, "y") || q.wordAt(i-2, "para") || q.wordAt(i-2, "si") || q.wordAt(i-2, "es") || q.toks[i-2].kind == markToken)
	case "de":
		return i < 2 || !q.wordAt(i-2, "en") && !q.wordAt(i-2, "dentro")
	}
	return false
}

// unitlessDivision says whether a number such as "13u" begins at token i.
func (q *Question) unitlessDivision(i int) bool { return q.wordAt(i+1, "u") && q.toks[i+1].glued }

// divisionFollows says whether a division is named at token i, or after "de la",
// "categoria".
func (q *Question) divisionFollows(i int) bool {
	for n := 0; i < len(q.toks) && n < 4; i, n = i+1, n+1 {
		if q.wordOf(i, gDiv) || q.wordOf(i, gUnder) && !q.wordAt(i, "categoria") {
			return true
		}
		switch q.toks[i].text {
		case "de", "la", "el", "en", "del", "categoria", "division":
			continue
		}
		return false
	}
	return false
}
