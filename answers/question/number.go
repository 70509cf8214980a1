package question

import (
	"sidewall/answers/measure"
)

// pronounOne says whether the "one" at i stands for somebody: "the little one".
func (q *Question) pronounOne(i int) bool {
	if i == 0 || !q.wordAt(i, "one") {
		return false
	}
	if _, _, unit := q.unit(i + 1); unit {
		return false
	}
	if _, _, ord := q.tagAt(i-1, gOrd); ord {
		return true // "a third one went in"
	}
	switch q.toks[i-1].text {
	case "second", "third", "fourth", "fifth", "sixth", "little", "big", "bigger", "old", "older", "oldest", "young", "younger", "youngest", "other", "this", "that", "last", "new", "same", "any", "every", "which", "tall", "small", "blue", "red", "black", "yellow", "clear":
		return true
	}
	return false
}

// number is a plain number with fractions read: where it ends, and how it was written.
type number struct {
	milli int64
	end   int
	word  bool
	frac  bool
}

// fraction reads a/b at i with a small denominator.
func (q *Question) fraction(i int) (int64, int, bool) {
	if !q.isNum(i) || !q.mark(i+1, "/") || !q.isNum(i+2) || q.mark(i+3, "/") || !q.toks[i+1].glued && !q.toks[i+2].glued {
		return 0, i, false
	}
	a, b := q.toks[i].milli, q.toks[i+2].milli/measure.One
	switch b {
	case 2, 3, 4, 8, 16, 32:
		if a > 0 && a < b*measure.One {
			return a / b, i + 3, true
		}
	}
	return 0, i, false
}

// half reads "and a half", "y media", "1/2", "and three quarters" after a number.
func (q *Question) half(i int) (int64, int, bool) {
	if v, end, ok := q.fraction(i); ok {
		return v, end, true
	}
	j := i
	if q.mark(j, "-") {
		if v, end, ok := q.fraction(j + 1); ok {
			return v, end, true
		}
	}
	if !q.joins(j) {
		return 0, i, false
	}
	j++
	if v, end, ok := q.fraction(j); ok {
		return v, end, true
	}
	if _, _, part := q.tagAt(j+1, gPart); q.wordAt(j, "a") || q.article(j) || q.wordAt(j, "one") && part {
		j++ // "6 and one half inches"
	}
	if v, end, ok := q.parts(j); ok {
		return v, end, true
	}
	if t, end, ok := q.tagAt(j, gPart); ok {
		return q.x.info[t].n, end, true
	}
	return 0, i, false
}

// parts reads "seven eighths", "three sixteenths", "an eighth", "un octavo".
func (q *Question) parts(i int) (int64, int, bool) {
	n, end := int64(1), i
	if v, e, ok := q.small(i); ok && v < 32 {
		n, end = v, e
	} else if q.isNum(i) && !q.toks[i].frac && q.toks[i].milli < 32*measure.One { // "2 pulgadas y 6 décimas"
		n, end = q.toks[i].milli/measure.One, i+1
	} else if q.article(i) {
		end = i + 1
	}
	if q.mark(end, "-") {
		end++
	}
	if t, e, ok := q.tagAt(end, gDenom); ok && q.x.info[t].n > n {
		return n * measure.One / q.x.info[t].n, e, true
	}
	return 0, i, false
}

// joins says whether token i is "and" or "y".
func (q *Question) joins(i int) bool {
	return q.wordAt(i, "and") || q.wordAt(i, "an") && q.wordAt(i+1, "a") || q.wordAt(i, "y") || q.wordAt(i, "n") || q.mark(i, "&")
}

// article says whether token i is "a", "an", "un", "una", "one".
func (q *Question) article(i int) bool {
	if q.Lang == "es" {
		return q.wordAt(i, "un") || q.wordAt(i, "una")
	}
	return q.wordAt(i, "a") || q.wordAt(i, "an")
}

// small reads one number word, or tens and units together.
func (q *Question) small(i int) (int64, int, bool) {
	t, end, ok := q.tagAt(i, gNum)
	if !ok {
		return 0, i, false
	}
	n := q.x.info[t].n
	if n >= 20 && n < 100 && n%10 == 0 {
		j := end
		if q.mark(j, "-") || q.wordAt(j, "y") {
			j++
		}
		if u, uend, ok := q.tagAt(j, gNum); ok && q.x.info[u].n > 0 && q.x.info[u].n < 10 {
			return n + q.x.info[u].n, uend, true
		}
	}
	return n, end, true
}

// number reads a number at token i, in figures or words, with its fraction.
func (q *Question) number(i int) (number, bool) {
	if i >= len(q.toks) {
		return number{}, false
	}
	if v, end, ok := q.fraction(i); ok {
		return number{milli: v, end: end, frac: true}, true
	}
	if q.isNum(i) {
		n := number{milli: q.toks[i].milli, end: i + 1, frac: q.toks[i].frac}
		if q.wordAt(i+1, "point") || q.wordAt(i+1, "punto") {
			if q.isNum(i+2) && q.toks[i+2].milli < 10*measure.One {
				n.milli += q.toks[i+2].milli / 10
				n.end, n.frac = i+3, true
				return n, true
			}
		}
		if v, end, ok := q.half(n.end); ok {
			n.milli, n.end, n.frac = n.milli+v, end, true
		}
		return n, true
	}
	if q.pronounOne(i) {
		return number{}, false
	}
	v, end, ok := q.small(i)
	if !ok {
		if t, end, ok := q.tagAt(i, gPart); ok { // half an inch, three quarters of an inch
			return number{milli: q.x.info[t].n, end: end, word: true, frac: true}, true
		}
		return number{}, false
	}
	if v < 10 {
		if t, hend, ok := q.tagAt(end, gNum); ok && q.x.info[t].n == 100 && v > 0 {
			v, end = v*100, hend
		}
	}
	if v >= 100 && v%100 == 0 {
		j := end
		if q.joins(j) {
			j++
		}
		if u, uend, ok := q.small(j); ok && u < 100 {
			v, end = v+u, uend
		}
	}
	n := number{milli: v * measure.One, end: end, word: true}
	if q.wordAt(end, "point") || q.wordAt(end, "punto") {
		if u, uend, ok := q.small(end + 1); ok && u < 10 {
			n.milli += u * measure.One / 10
			n.end = uend
			return n, true
		}
	}
	if v, hend, ok := q.half(n.end); ok {
		n.milli, n.end, n.frac = n.milli+v, hend, true
	}
	return n, true
}

func scale(milli, factor int64) int64 {
	if milli > 1e9 || milli < -1e9 { // no quantity of the game; keep the product in range
		milli = 1e9
	}
	return milli/measure.One*factor + milli%measure.One*factor/measure.One
}

// halfAfterUnit reads "and a half" after a unit, but not "and half" of a period.
func (q *Question) halfAfterUnit(i int) (int64, int, bool) {
	if q.Lang == "es" && (q.joins(i) || q.wordAt(i, "con")) {
		if v, end, ok := q.parts(i + 1); ok {
			return v, end, true
		}
	}
	if !q.joins(i) {
		return 0, i, false
	}
	j := i + 1
	if q.article(j) {
		j++
	}
	if t, end, ok := q.tagAt(j, gPart); ok {
		return q.x.info[t].n, end, true
	}
	if v, end, ok := q.fraction(j); ok {
		return v, end, true
	}
	return 0, i, false
}

func (q *Question) rangeWord(i int) bool {
	return q.mark(i, "-") || q.wordAt(i, "to") || q.wordAt(i, "a") && q.Lang == "es" || q.wordAt(i, "thru") || q.wordAt(i, "through") || q.wordAt(i, "hasta")
}
