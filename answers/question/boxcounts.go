package question

// boxCounts is what a question says of the penalty box: how many are in it, how
// many penalties come on top, and how many it says are on the field.
type boxCounts struct {
	inBox, more, onField         int64
	hasBox, hasMore, hasField    bool
	boxSpan, moreSpan, fieldSpan span
}

// InBox, MorePenalties and StatedOnField read the three numbers.
func InBox() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		b := q.boxCounts(s)
		return countVal(b.inBox), b.boxSpan, b.hasBox
	}
}

// MorePenalties reads penalties beyond those in the box.
func MorePenalties() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		b := q.boxCounts(s)
		return countVal(b.more), b.moreSpan, b.hasMore
	}
}

// StatedOnField reads how many are said to be on the field, the goalkeeper counted.
func StatedOnField() Reader {
	return func(q *Question, s Scope) (Val, span, bool) {
		b := q.boxCounts(s)
		return countVal(b.onField), b.fieldSpan, b.hasField
	}
}

// What a number near a phrase counts.
const (
	countsNothing = iota
	countsBox
	countsPenalties
	countsField
)

func (q *Question) boxPhrase(h *hit) int {
	switch {
	case q.is(h, "box"):
		return countsBox
	case q.is(h, "penalty", "foul") || q.inGroup(h, "foul"):
		return countsPenalties
	case q.is(h, "ask:penalty") && !q.is(h, "fn"):
		return countsPenalties
	case q.is(h, "players:onfield", "cnt:field", "pos:field"):
		return countsField
	}
	return countsNothing
}

// forward and back are how many tokens off a number its phrase may stand.
const (
	boxForward  = 6
	boxBackward = 3
	smallBox    = 6 // a number that nothing explains is of the box up to here, else of the field
)

func (q *Question) boxCounts(s Scope) boxCounts {
	var b boxCounts
	var buf [maxCounted]counted
	cs := q.countedIn(s, buf[:0])
	ordinal := int64(0)
	var ordSpan span
	unexplained := -1
	for k := range cs {
		c := &cs[k]
		next := s.end
		if k+1 < len(cs) {
			next = cs[k+1].start
		}
		prev := s.start
		if k > 0 {
			prev = cs[k-1].end
		}
		kind, at := q.boxKind(c, prev, next)
		if q.wordAt(c.start-1, "by") && q.wordAt(c.start-2, "down") && q.tagInScope(s, "box") && c.n <= smallBox {
			kind = countsBox // "man down by one"
		}
		if kind == countsBox && c.n > smallBox && !c.ordinal {
			kind = countsField // no box holds ten
		}
		if q.Lang == "es" && b.hasBox && kind != countsField && !c.ordinal && q.wordAt(c.end, "mas") {
			kind = countsPenalties // "y me sacan a dos más"
		}
		if c.inside && kind != countsBox {
			continue // "no one", "this one"
		}
		if c.ordinal {
			if kind == countsPenalties || kind == countsBox || kind == countsNothing && c.n > 1 && c.n <= smallBox && (q.oneMore(c.start) || q.isMan(c.end)) {
				ordinal, ordSpan = c.n, span{c.start, c.end}
				if kind == countsNothing && !(b.hasBox && c.n == b.inBox+1) { // "now a third one went in": he is in already
					b.inBox, b.hasBox, b.boxSpan, ordinal = c.n, true, ordSpan, 0
					b.more, b.hasMore, b.moreSpan = 0, true, ordSpan
				}
			}
			continue
		}
		switch kind {
		case countsBox:
			if !b.hasBox {
				b.inBox, b.hasBox, b.boxSpan = c.n, true, span{c.start, c.end}
			}
		case countsPenalties:
			if !b.hasMore {
				b.more, b.hasMore, b.moreSpan = c.n, true, span{c.start, c.end}
			}
		case countsField:
			n := c.n
			if at >= 0 && q.is(&q.hits[at], "pos:field") && q.plusKeeper(q.hits[at].end, next) {
				n++
			}
			b.onField, b.hasField, b.fieldSpan = n, true, span{c.start, c.end}
		default:
			if !c.inside && (k == 0 || unexplained < 0) {
				unexplained = k
			}
		}
	}
	q.boxWords(s, &b)
	q.alsoCalled(s, &b)
	if ordinal > 0 && !b.hasMore {
		switch {
		case !b.hasBox:
			b.inBox, b.hasBox, b.boxSpan = ordinal-1, true, ordSpan
			b.more, b.hasMore, b.moreSpan = 1, true, ordSpan
		default:
			b.more, b.hasMore, b.moreSpan = max(1, ordinal-b.inBox), true, ordSpan
		}
	}
	if unexplained >= 0 {
		c := &cs[unexplained]
		at := span{c.start, c.end}
		switch {
		case !b.hasField && (b.hasBox || b.hasMore || c.n > smallBox):
			b.onField, b.hasField, b.fieldSpan = c.n, true, at
		case !b.hasBox && !b.hasMore:
			b.inBox, b.hasBox, b.boxSpan = c.n, true, at
			if q.tagInScope(s, "cnt:total") { // a new total leaves nothing on top of it
				b.more, b.hasMore, b.moreSpan = 0, true, at
			}
		}
	}
	return b
}

// oneMore says whether a word before an ordinal makes it one more of its kind:
// "now a third went in"; "in the third" is a period.
func (q *Question) oneMore(i int) bool {
	if i == 0 {
		return false
	}
	switch q.toks[i-1].text {
	case "a", "another", "now", "un", "otro", "ya":
		return true
	}
	return false
}

// boxKind is what a number counts, and the phrase that says so.
func (q *Question) boxKind(c *counted, prev, next int) (int, int) {
	if h := q.hitAt[c.start]; h >= 0 && q.is(&q.hits[h], "box") && (q.hits[h].end > c.end || q.hits[h].start < c.start) {
		return countsBox, int(h) // "down two", "two man down"
	}
	if c.start > 0 {
		if h := q.hitAt[c.start-1]; h >= 0 && q.hits[h].end == c.start && q.is(&q.hits[h], "cnt:down") {
			return countsBox, int(h) // "down three men"
		}
	}
	if h := q.hitAt[min(c.end, len(q.toks)-1)]; h >= 0 && q.Lang == "es" && q.hits[h].start == c.end && q.is(&q.hits[h], "cnt:down") {
		return countsBox, int(h) // "uno menos"
	}
	for k := range q.hits { // "nos sacaron a dos"
		if h := &q.hits[k]; h.end == c.start && q.is(h, "box:of") {
			return countsBox, k
		}
	}
	for k := range q.hits {
		h := &q.hits[k]
		if h.start < c.end || h.start >= next || h.start-c.end > boxForward || !q.sameSentence(c.start, h.start) {
			continue
		}
		if kind := q.boxPhrase(h); kind != countsNothing {
			return kind, k
		}
	}
	for k := len(q.hits) - 1; k >= 0; k-- {
		h := &q.hits[k]
		if h.end > c.start || h.end <= prev && prev > 0 && h.start < prev || c.start-h.end > boxBackward || !q.sameSentence(c.start, h.start) {
			continue
		}
		if kind := q.boxPhrase(h); kind != countsNothing {
			return kind, k
		}
	}
	return countsNothing, -1
}

// boxWords reads what is counted without a number: nobody, both, another.
func (q *Question) boxWords(s Scope, b *boxCounts) {
	near := func(from, reach int, want int) bool {
		for k := range q.hits {
			h := &q.hits[k]
			if h.start >= from && h.start-from <= reach && h.end <= s.end && q.sameSentence(from-1, h.start) && q.boxPhrase(h) == want {
				return true
			}
		}
		return false
	}
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		at := span{h.start, h.end}
		switch {
		case !b.hasBox && q.is(h, "cnt:none") && near(h.end, 4, countsBox):
			b.inBox, b.hasBox, b.boxSpan = 0, true, at
		case !b.hasBox && q.is(h, "cnt:both") && near(h.end, 10, countsBox):
			b.inBox, b.hasBox, b.boxSpan = 2, true, at
		case !b.hasBox && q.wordAt(h.start, "ones") && near(h.end, 2, countsBox): // "if one's serving"
			b.inBox, b.hasBox, b.boxSpan = 1, true, at
		case !b.hasMore && b.hasBox && q.is(h, "more:penalty", "more:called"):
			b.more, b.hasMore, b.moreSpan = 1, true, at
		case !b.hasMore && q.is(h, "cnt:another") && (near(h.end, 4, countsPenalties) || near(h.end, 4, countsBox) || near(h.end, 4, countsNothing) && !b.hasBox):
			b.more, b.hasMore, b.moreSpan = 1, true, at
		}
	}
	if !b.hasBox { // "#31 is in the box", "they have a kid in the box"
		b.inBox, b.boxSpan = q.servingNow(s)
		b.hasBox = b.inBox > 0
	}
	if !b.hasBox && q.tagInScope(s, "meanwhile") { // "… and how many can we field till then?"
		if st, ok := q.Story(q.Whole()); ok && len(st.Penalties) > 0 {
			b.inBox, b.hasBox, b.boxSpan = int64(len(st.Penalties)), true, span(s)
		}
	}
	if b.hasMore {
		return
	}
	for i := range q.Quantities { // "and now #40 got flagged as well"
		u := &q.Quantities[i]
		if u.Kind == Jersey && s.holds(u.start, u.end) && b.hasBox && near(u.end, 3, countsPenalties) {
			b.more, b.hasMore, b.moreSpan = 1, true, span{u.start, u.end}
		}
	}
}

// keeperPlus says whether a goalkeeper stands before a number to which he is
// added: "goalie plus six more".
func (q *Question) keeperPlus(i int) bool {
	joined := false
	for j := i - 1; j >= max(0, i-3); j-- {
		h := q.hitAt[j]
		if h >= 0 && q.is(&q.hits[h], "pos:goalkeeper") {
			k := q.hits[h].start - 1 // "seven with the goalie and three": he is in the seven
			for k > 0 && (q.wordAt(k, "the") || q.wordAt(k, "our") || q.wordAt(k, "their")) {
				k--
			}
			if k >= 0 && (q.wordAt(k, "including") || q.wordAt(k, "incl") || q.wordAt(k, "counting")) {
				return false
			}
			return joined && (k < 0 || q.toks[k].sent != q.toks[j].sent || q.toks[k].kind == wordToken && !q.joins(k) && !q.wordAt(k, "w") && !q.wordAt(k, "with") && !q.wordAt(k, "con"))
		}
		joined = joined || q.joins(j) || q.mark(j, "+") || h >= 0 && q.is(&q.hits[h], "cnt:plus")
	}
	return false
}

// servingNow counts the players who are said to be in the box one by one: by
// their numbers, or as "a kid", "one of ours", "our guy".
func (q *Question) servingNow(s Scope) (int64, span) {
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || !q.is(h, "box") || h.negated {
			continue
		}
		n := int64(0)
		at := span{h.start, h.end}
		for j := range q.Quantities {
			u := &q.Quantities[j]
			if u.Kind == Jersey && u.end <= h.start && h.start-u.end <= 8 && q.sameSentence(u.start, h.start) {
				n++
				at.start = min(at.start, u.start)
			}
		}
		if n > 0 {
			return n, at
		}
		for i := max(s.start, h.start-7); i < h.start; i++ {
			switch q.toks[i].text {
			case "a", "one", "our", "their", "un", "uno", "nuestro":
				if p := q.hitAt[min(i+1, len(q.toks)-1)]; p >= 0 && q.is(&q.hits[p], "person", "cnt:man") || i+1 < h.start && manWord(q.toks[i+1].text) {
					return 1, span{i, h.end}
				}
			}
		}
	}
	return 0, span{}
}

func manWord(w string) bool {
	switch w {
	case "man", "guy", "kid", "player", "boy", "dude", "jugador", "chico", "nino", "muchacho", "hombre":
		return true
	}
	return false
}

// plusKeeper says whether a goalkeeper is added between two tokens: "plus a goalie".
func (q *Question) plusKeeper(from, to int) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.start < from || h.start >= to || !q.is(h, "pos:goalkeeper") {
			continue
		}
		for i := max(from, h.start-3); i < h.start; i++ {
			if q.joins(i) || q.mark(i, "+") {
				return true
			}
			if p := q.hitAt[i]; p >= 0 && q.is(&q.hits[p], "cnt:plus") {
				return true
			}
		}
	}
	return false
}
