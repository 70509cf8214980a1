package question

import "sidewall/answers/measure"

// metres reads metres with the centimetres after them, as they are said in
// Spanish: "1 metro con 10", "un metro diez", "1 metro y 3 centimetros".
func (q *Question) metres(i int) (int, bool) {
	n, ok := q.number(i)
	if !ok {
		n = number{milli: measure.One, end: i + 1, word: true}
		if q.Lang == "es" && q.wordAt(i, "metro") { // "metro doce"
			n.end = i
		} else if !q.article(i) {
			return i, false
		}
	}
	t, j, ok := q.unit(n.end)
	if !ok || q.x.info[t].value != "m" || n.frac || n.milli >= 10*measure.One {
		return i, false
	}
	k := j
	if q.joins(k) || q.wordAt(k, "con") {
		k++
	}
	m, ok := q.number(k)
	if !ok || m.frac || m.milli <= 0 || m.milli >= 100*measure.One {
		return i, false
	}
	end := m.end
	if t2, e2, ok := q.unit(m.end); ok {
		if q.x.info[t2].value != "cm" {
			return i, false
		}
		end = e2
	} else if m.milli < 10*measure.One || q.mark(m.end, ":") || q.mark(m.end, "%") {
		return i, false // "a 1 metro, 2 jugadores"
	}
	v := n.milli*int64(measure.Metre)/measure.One + m.milli*int64(measure.Centimetre)/measure.One
	q.push(Quantity{Kind: Length, Lo: v, Hi: v, Unit: t, start: i, end: end, Role: noTag, word: n.word})
	return end, true
}
