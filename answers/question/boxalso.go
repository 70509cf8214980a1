package question

// alsoCalled reads one more in Spanish where the foul comes before the player:
// "le pitan falta a un cuarto", "marcan otra falta a otro".
func (q *Question) alsoCalled(s Scope, b *boxCounts) {
	if q.Lang != "es" || !b.hasBox || b.hasMore {
		return
	}
	called := func(i int) bool { // a foul or a call stands shortly before
		for k := range q.hits {
			h := &q.hits[k]
			if h.end <= i && i-h.end <= 3 && q.sameSentence(h.start, i) && q.boxPhrase(h) == countsPenalties {
				return true
			}
		}
		return false
	}
	for i := s.start + 1; i < s.end; i++ {
		switch q.toks[i].text {
		case "cuarto", "tercero", "tercer", "segundo", "quinto":
			n, ok := q.wordNumber(i, gOrd)
			if !ok || n != b.inBox+1 || !q.wordAt(i-1, "un") && !q.wordAt(i-1, "otro") && !q.wordAt(i-1, "al") && !q.wordAt(i-1, "el") {
				continue
			}
		case "otro", "otra":
			if !q.wordAt(i-1, "a") {
				continue
			}
		default:
			continue
		}
		if called(i) {
			b.more, b.hasMore, b.moreSpan = 1, true, span{i, i + 1}
			return
		}
	}
}

// boxAndField says whether two topics are asked as one in Spanish: who serves and
// how many play ("ya hay tres en la caja, ¿cuántos juegan y cuántos esperan?").
func (q *Question) boxAndField(a, b string) bool {
	return q.Lang == "es" && (a == "players-allowed" && b == "game-format" || a == "game-format" && b == "players-allowed")
}
