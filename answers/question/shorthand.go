package question

// shorthand are the letters that people type for whole words in Spanish.
func shorthand(w string) string {
	switch w {
	case "q", "k", "ke", "qe":
		return "que"
	case "x":
		return "por"
	case "xq", "pq", "porq", "xk", "pork":
		return "porque"
	case "tb", "tmb", "tbn", "tmbn":
		return "tambien"
	case "xfa", "xfavor", "pls", "plis":
		return "porfa"
	case "pa", "xa":
		return "para"
	case "ta":
		return "esta"
	case "dl":
		return "del"
	case "bn":
		return "bien"
	case "aki":
		return "aqui"
	case "xo":
		return "pero"
	case "cdo", "cnd":
		return "cuando"
	}
	return w
}

// spellOut replaces shorthand by the words it stands for. Beside a number the
// letters are something else: "q3", "2 x 20", "5ta".
func (q *Question) spellOut() {
	for i := range q.toks {
		t := &q.toks[i]
		if t.kind != wordToken || len(t.text) > 6 {
			continue
		}
		if t.text == "d" && !t.glued && q.shortOf(i) {
			t.text = "de"
			continue
		}
		if i > 0 && q.toks[i-1].kind != wordToken && (t.glued || q.toks[i-1].kind == numberToken) || i+1 < len(q.toks) && q.toks[i+1].kind == numberToken && len(t.text) == 1 {
			continue
		}
		t.text = shorthand(t.text)
	}
}

// shortOf says whether a lone "d" stands for "de": a word follows, and it is no
// defender's ("close d", "d pole", "juega d en U13").
func (q *Question) shortOf(i int) bool {
	if i+1 >= len(q.toks) || q.toks[i+1].kind == markToken || q.toks[i+1].sent != q.toks[i].sent || q.toks[i+1].glued {
		return false
	}
	switch q.toks[i+1].text {
	case "pole", "poles", "pol", "mid", "mids", "middie", "middies", "man", "men", "stick", "en", "y", "con", "para", "pa", "o", "que", "q":
		return false
	}
	return i == 0 || !q.wordAt(i-1, "close") && !q.wordAt(i-1, "the")
}
