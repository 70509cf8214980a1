package question

import "slices"

// denied takes away a size that the question itself takes back: "the sticker
// says 40 but it isn't 40, it is 36.5". Another one has to be left.
func (q *Question) denied() {
	size := func(u *Quantity) bool { return u.Kind == Length || u.Kind == Bare }
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if !size(u) || !q.deniedAt(u.start) && !q.refused(u.end) {
			continue
		}
		kind, lo, hi := u.Kind, u.Lo, u.Hi
		same := func(v Quantity) bool { return v.Kind == kind && v.Lo == lo && v.Hi == hi }
		left := slices.ContainsFunc(q.Quantities, func(v Quantity) bool { return size(&v) && !same(v) && q.sameKindOfSize(u, &v) })
		if left {
			q.Quantities = slices.DeleteFunc(q.Quantities, same)
			return // one at a time is what people do
		}
	}
}

// sameKindOfSize keeps a jersey-like small number from standing in for a length.
func (q *Question) sameKindOfSize(a, b *Quantity) bool {
	x, y := inInches(a), inInches(b)
	return x > 0 && y*3 > x*2 && x*3 > y*2
}

// deniedAt says whether "isn't", "wasn't" or "not" stands right before token i.
func (q *Question) deniedAt(i int) bool {
	if i == 0 {
		return false
	}
	switch q.toks[i-1].text {
	case "isnt", "wasnt", "aint", "not":
		return true
	}
	return false
}

// refused says whether "but no" or "but nope" follows right behind a size, as
// somebody else's: "5 foot 4 (his mom says 5'5 but no)".
func (q *Question) refused(i int) bool {
	return q.wordAt(i, "but") && (q.wordAt(i+1, "no") || q.wordAt(i+1, "nope") || q.wordAt(i+1, "nah"))
}
