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
		if i > 0 && q.toks[i-1].kind != wordToken && (t.glued || q.toks[i-1].kind == numberToken) || i+1 < len(q.toks) && q.toks[i+1].kind == numberToken && len(t.text) == 1 {
			continue
		}
		t.text = shorthand(t.text)
	}
}
