package question

import "sidewall/answers/measure"

// division reads U11, 11U, under 11, 11 and under, sub 11, "you eleven", and the
// book's own names for a division; a naming that the book lacks is kept as
// UnknownDivision.
func (q *Question) division(i int) (int, bool) {
	if t, end, ok := q.tagAt(i, gDiv); ok {
		q.addDivision(int(q.x.info[t].n), i, end)
		return end, true
	}
	num := func(j int) (int64, int, bool) {
		if q.isNum(j) && !q.toks[j].frac {
			return q.toks[j].milli / measure.One, j + 1, true
		}
		if v, end, ok := q.small(j); ok {
			return v, end, true
		}
		return 0, j, false
	}
	plural := func(end int) int {
		if end < len(q.toks) && q.toks[end].kind == wordToken && q.toks[end].text == "s" && (q.toks[end].glued) {
			return end + 1
		}
		return end
	}
	t, end, ok := q.tagAt(i, gUnder)
	if !ok && q.wordOf(i, gUnder) && q.isNum(i+1) { // a longer phrase holds it as well: "un medio u15"
		t, end, ok = q.x.std.under, i+1, true
	}
	if ok { // "u", "under", "sub", "menores de", dictated "you"
		j := end
		if q.mark(j, "-") || q.mark(j, ".") || q.mark(j, "_") {
			j++
		}
		n, e, ok := num(j)
		if !ok {
			return i, false
		}
		weak := q.x.info[t].n == 1 // "you", "under": needs a number that some book may have
		if n < 5 || n > 23 || weak && !q.x.divisionNumber(int(n)) {
			return i, false
		}
		if _, _, unit := q.unit(e); unit && weak {
			return i, false
		}
		if q.mark(e, ":") && q.isNum(e+1) && q.toks[e+1].glued || q.mark(e, "%") || q.mark(e, "/") && weak {
			return i, false
		}
		e = plural(e)
		q.addUnder(int(n), i, e)
		return e, true
	}
	n, e, ok := num(i)
	if !ok || n < 5 || n > 23 {
		return i, false
	}
	if q.wordAt(e, "you") && q.toks[i].kind == wordToken && (e+1 == len(q.toks) || q.toks[e+1].kind == markToken) && q.x.divisionNumber(int(n)) { // dictated "10U"
		q.addUnder(int(n), i, e+1)
		return e + 1, true
	}
	if q.wordAt(e, "u") || q.wordAt(e, "us") {
		if q.toks[e].glued || q.wordAt(e, "u") && q.x.divisionNumber(int(n)) {
			q.addUnder(int(n), i, e+1)
			return e + 1, true
		}
	}
	under := e
	if q.mark(e, "-") {
		under++
	}
	if _, end, ok := q.tagAt(under, gAndUnder); ok { // "11 and under" counts the oldest age too, but the trade means U11
		q.addUnder(int(n), i, end)
		return end, true
	}
	if q.isNum(i) && q.wordAt(i+1, "s") && q.toks[i+1].glued && q.x.divisionNumber(int(n)) {
		q.addUnder(int(n), i, i+2)
		return i + 2, true
	}
	return i, false
}

func (q *Question) addUnder(n, i, end int) {
	if d, ok := q.x.under[n]; ok {
		q.addDivision(d, i, end)
		return
	}
	if d, ok := q.x.band[n]; ok {
		q.addDivision(d, i, end)
		return
	}
	q.UnknownDivision = n
	q.divSpan = append(q.divSpan, span{i, end})
}

type span struct{ start, end int }

type mention struct {
	index      int
	start, end int
}

func (q *Question) addDivision(d, i, end int) {
	q.divs = append(q.divs, mention{d, i, end})
	q.divSpan = append(q.divSpan, span{i, end})
}

// isOfPerson says whether an "is" at token i can say somebody's age: "the lead is
// 10" and "the stick is 9" do not, "Tom is 9" does.
func (q *Question) isOfPerson(i int) bool {
	if q.toks[i].text != "is" && q.toks[i].text != "are" || i == 0 || q.toks[i-1].kind != wordToken {
		return true
	}
	h := q.hitAt[i-1]
	if h < 0 {
		return !q.toks[i-1].known
	}
	return q.is(&q.hits[h], "person", "fn", "neutral")
}

// age reads "9 year old", 9yo, "age 9", "turned 10", "tiene 9 años", "de 9 añitos".
func (q *Question) age(i int) (int, bool) {
	if i > 1 && q.isNum(i) && q.mark(i-1, "(") && q.mark(i+1, ")") && !q.toks[i].frac && q.toks[i].milli >= 5*measure.One && q.toks[i].milli <= 19*measure.One {
		if h := q.hitAt[i-2]; h >= 0 && q.is(&q.hits[h], "person") { // "my son (16)"
			n := q.toks[i].milli / measure.One
			q.push(Quantity{Kind: Age, Lo: n, Hi: n, Unit: noTag, start: i, end: i + 1, Role: noTag})
			return i + 1, true
		}
	}
	if end, ok := q.apposedAge(i); ok {
		return end, true
	}
	if _, end, ok := q.tagAt(i, gAgeWord); ok { // age 9, aged nine, turning 10
		if e, ok := q.date(end); ok { // "cumple 10 de mayo"
			return e, true
		}
		if n, ok := q.number(end); ok && !n.frac && n.milli >= 3*measure.One && n.milli <= 25*measure.One {
			if _, _, unit := q.unit(n.end); !unit || q.yearUnit(n.end) {
				e := n.end
				if t, ue, ok := q.unit(n.end); ok && q.x.info[t].unitKind == Age {
					e = ue
				}
				q.push(Quantity{Kind: Age, Lo: n.milli / measure.One, Hi: n.milli / measure.One, Unit: noTag, start: i, end: e, Role: noTag})
				return e, true
			}
		}
		return i, false
	}
	if _, end, ok := q.tagAt(i, gAgeIs); ok && q.isOfPerson(i) { // "he's eight, wants to be a midfielder"
		return q.bareAge(i, end)
	}
	n, ok := q.number(i)
	if !ok || n.milli < 3*measure.One || n.milli > 60*measure.One {
		return i, false
	}
	lo, hi, end := n.milli/measure.One, n.milli/measure.One, n.end
	if q.rangeWord(end) || q.wordAt(end, "or") || q.wordAt(end, "o") || q.mark(end, "/") {
		if m, ok := q.number(end + 1); ok && m.milli > n.milli && m.milli <= 25*measure.One {
			if q.yearUnit(m.end) {
				hi, end = m.milli/measure.One, m.end
			}
		}
	}
	if !q.yearUnit(end) {
		return i, false
	}
	_, e, _ := q.unit(end)
	q.push(Quantity{Kind: Age, Lo: lo, Hi: hi, Unit: noTag, start: i, end: e, Role: noTag})
	return e, true
}

// apposedAge reads the number between commas behind a person: "middie, 12, snapped
// his shaft".
func (q *Question) apposedAge(i int) (int, bool) {
	at := i - 2
	if i > 1 && !q.mark(i-1, ",") { // "my sons twelve, can he"
		switch q.toks[i-1].text {
		case "sons", "kids", "boys", "brothers", "nephews", "grandsons":
			at = i - 1
		default:
			return i, false
		}
		switch q.toks[i-2].text {
		case "my", "our", "his", "her":
		default:
			return i, false
		}
	}
	if at < 0 {
		return i, false
	}
	h := q.hitAt[at]
	if h < 0 || !q.is(&q.hits[h], "person") {
		return i, false
	}
	n, ok := q.number(i)
	if !ok || n.frac || n.milli < bareAgeLow*measure.One || n.milli > bareAgeHigh*measure.One || n.end < len(q.toks) && !q.mark(n.end, ",") && !q.mark(n.end, ".") && !q.mark(n.end, "?") && !q.mark(n.end, "!") {
		return i, false
	}
	v := n.milli / measure.One
	q.push(Quantity{Kind: Age, Lo: v, Hi: v, Unit: noTag, start: i, end: n.end, Role: noTag})
	return n.end, true
}

// Ages that a bare number may be after "he is", in whole years.
const (
	bareAgeLow  = 5
	bareAgeHigh = 18
)

// bareAge reads an age without its years after "he is": a whole number that ends
// its clause.
func (q *Question) bareAge(i, at int) (int, bool) {
	n, ok := q.number(at)
	if !ok || n.frac || n.milli < bareAgeLow*measure.One || n.milli > bareAgeHigh*measure.One {
		return i, false
	}
	if n.end < len(q.toks) {
		_, _, next := q.tagAt(n.end, gAgeNext)
		t := &q.toks[n.end]
		switch {
		case next:
		case t.kind == markToken && (t.text == "," || t.text == "." || t.text == "?" || t.text == "!" || t.text == ")"):
		default:
			return i, false
		}
	}
	v := n.milli / measure.One
	q.push(Quantity{Kind: Age, Lo: v, Hi: v, Unit: noTag, start: at, end: n.end, Role: noTag})
	return n.end, true
}

func (q *Question) yearUnit(i int) bool {
	t, _, ok := q.unit(i)
	return ok && q.x.info[t].unitKind == Age
}

// grade reads 4th grade, fourth grader, grade 5, kindergarten, cuarto grado, 2do de primaria.
func (q *Question) grade(i int) (int, bool) {
	if t, end, ok := q.tagAt(i, gGradeName); ok {
		v := q.x.info[t].n
		q.push(Quantity{Kind: Grade, Lo: v, Hi: v, Unit: noTag, start: i, end: end, Role: noTag})
		return end, true
	}
	if _, end, ok := q.tagAt(i, gGradeWord); ok {
		if n, ok := q.number(end); ok && !n.frac && n.milli <= 12*measure.One {
			q.push(Quantity{Kind: Grade, Lo: n.milli / measure.One, Hi: n.milli / measure.One, Unit: noTag, start: i, end: n.end, Role: noTag})
			return n.end, true
		}
		return i, false
	}
	ord, end, ok := q.ordinal(i)
	if !ok {
		if !q.isNum(i) {
			return i, false
		}
		ord, end = q.toks[i].milli/measure.One, i+1
	}
	if q.wordAt(end, "de") || q.wordAt(end, "of") {
		end++
	}
	t, e, ok := q.tagAt(end, gGradeWord)
	if !ok || ord > 12 {
		return i, false
	}
	ord += q.x.info[t].n // secundaria starts after sixth
	q.push(Quantity{Kind: Grade, Lo: ord, Hi: ord, Unit: noTag, start: i, end: e, Role: noTag})
	return e, true
}
