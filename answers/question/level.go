package question

// edgeWords may stand between "level with" and the words that say which edge.
var edgeWords = map[string]bool{
	"con": true, "de": true, "del": true, "la": true, "el": true, "filo": true, "borde": true, "orilla": true, "canto": true, "pared": true,
	"parte": true, "lateral": true, "sidewall": true, "plastico": true, "marco": true, "costado": true, "linea": true,
}

// levelEdge takes the place of the edge out of what is level with it: "al ras con
// el filo de abajo de la pared" is level, not below.
func (q *Question) levelEdge() {
	if q.Lang != "es" {
		return
	}
	for k := range q.hits {
		if !q.is(&q.hits[k], "ball:level") || q.hits[k].negated {
			continue
		}
		i := q.hits[k].end
		for i < len(q.toks) && edgeWords[q.toks[i].text] {
			i++
		}
		if !q.wordAt(i, "abajo") && !q.wordAt(i, "inferior") {
			continue
		}
		for m := range q.hits {
			if h := &q.hits[m]; h.start >= q.hits[k].end && h.start <= i && h.end > i && q.is(h, "ball:below") {
				h.tags = nil
			}
		}
	}
}
