package question

import (
	"slices"
)

// draft is a penalty that is being put together.
type draft struct {
	Told
	start, end int
	count      int
	hasFoul    bool
	from       int // the draft that it shares foul and length with, -1 none
	teamAt     int // where its team was said
	whoAt      int // where its player was said
}

func (d *draft) empty() bool { return !d.hasFoul && d.LengthS == 0 }

// penalties puts the penalties together from who, foul and length.
func (r *storyReader) penalties() {
	var buf [8]draft
	ds := buf[:0]
	cur := -1
	open := func(at int) *draft {
		ds = append(ds, draft{Told: Told{Clock: NoClock}, start: at, end: at, from: -1, teamAt: -1, whoAt: -1})
		cur = len(ds) - 1
		return &ds[cur]
	}
	at := func(i int) *draft {
		if cur < 0 {
			return open(r.items[i].start)
		}
		return &ds[cur]
	}
	count, countEnd := 0, -1
	rather := false
	for i := range r.items {
		it := &r.items[i]
		var d *draft
		switch it.kind {
		case iCue:
			if cur >= 0 && (it.bits&cRather != 0 || it.bits&cNot != 0 && r.q.wordAt(it.start, "no") && r.pause(it.start-1) && r.q.mark(it.end, ",")) {
				rather = true // "45... no, 30 seconds"
			}
			continue
		case iCount:
			count, countEnd = it.n, it.end
			continue
		case iWho:
			known := slices.IndexFunc(ds, func(o draft) bool { return o.Who == it.word && (it.team == NoTeam || o.Team == it.team) })
			switch {
			case known >= 0 && ds[known].empty():
				cur = known
				d = &ds[cur]
			case known >= 0 && !r.startsPenalty(i):
				continue // "#40 has to wait"
			case cur >= 0 && ds[cur].Who == "" && !ds[cur].closed(r, it):
				d = &ds[cur]
			default:
				d = open(it.start)
			}
			d.Who, d.whoAt = it.word, it.start
			if it.team != NoTeam {
				d.Team, d.teamAt = it.team, it.start
			}
		case iFoul:
			if r.notFoul(i) {
				continue
			}
			d = at(i)
			if d.hasFoul {
				switch {
				case rather:
					d.Foul, d.Technical = "", false
				case it.word == "":
					continue // "a hold, so a technical"
				case r.joined(i) && (it.word != d.Foul || r.lengthAhead(i)), r.lengthAhead(i) && d.LengthS > 0:
					d = open(it.start)
				default:
					continue // named twice, or two words for one act
				}
			}
			d.Foul, d.hasFoul, rather = it.word, true, false
			d.Technical = it.word == ""
		case iLength:
			if it.used {
				continue
			}
			d = at(i)
			if d.LengthS > 0 {
				switch {
				case rather:
				case r.startsPenalty(i):
					d = open(it.start)
				default:
					continue
				}
			} else if d.hasFoul && r.startsPenalty(i) && r.wholeAhead(i) && !r.sameFoulAhead(i, d.Foul) {
				d = open(it.start) // "illegal crosse and a one minute slash"
			}
			d.LengthS, rather = it.n, false
		case iLocked:
			if r.asksAbout(i) {
				continue
			}
			d = at(i)
			d.Locked = Yes(it.n)
			if r.eachBefore(i) {
				for k := range ds {
					ds[k].Locked = d.Locked
				}
			}
		default:
			continue
		}
		if count > 0 && it.start-countEnd <= 3 && d.count == 0 {
			d.count, count = count, 0
		}
		d.end = it.end
	}
	r.share(ds)
	r.teams(ds)
	r.restarts(ds)
	r.multiply(ds)
}

// sameFoulAhead says whether the next thing told is a foul that is known already:
// "mouthed off, 1 min unsportsmanlike" is one penalty.
func (r *storyReader) sameFoulAhead(i int, foul string) bool {
	return i+1 < len(r.items) && r.items[i+1].kind == iFoul && r.items[i+1].word == foul && foul != ""
}

// pause says whether token i is a mark that ends something.
func (r *storyReader) pause(i int) bool {
	return r.q.mark(i, ".") || r.q.mark(i, ",") || r.q.mark(i, "?") || r.q.mark(i, "-")
}

// closed says whether the penalty is complete, so that a player named now has
// one of his own: "slash one minute, #7 hold 30 seconds".
func (d *draft) closed(r *storyReader, who *item) bool {
	if !d.hasFoul || d.LengthS == 0 {
		return false
	}
	for i := range r.items {
		it := &r.items[i]
		if it.start <= who.start || it.kind == iCue || it.kind == iTeam {
			continue
		}
		return (it.kind == iFoul || it.kind == iLength) && it.start-who.end <= 5 && !r.joined(i)
	}
	return false
}

// startsPenalty says whether items[i], a player or a length, has a penalty after it.
func (r *storyReader) startsPenalty(i int) bool {
	it := &r.items[i]
	for k := i + 1; k < len(r.items); k++ {
		n := &r.items[k]
		if n.start-it.end > 5 || r.sentenceEnd(it.end-1, n.start) {
			return false
		}
		switch n.kind {
		case iFoul:
			return true
		case iLength:
			return it.kind == iWho
		case iWho:
			return it.kind == iLength && n.start-it.end <= 3
		case iLocked:
			return it.kind == iLength
		case iCue:
			if n.bits&cPenalty != 0 && it.kind == iLength {
				return true
			}
		case iTeam:
		default:
			return false
		}
	}
	return false
}

// wholeAhead says whether the length items[i] is joined to what stands before it
// and belongs to a foul after it.
func (r *storyReader) wholeAhead(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		switch r.items[k].kind {
		case iFoul:
			return r.joined(i) && !r.comma(r.items[i].end, r.items[k].start)
		case iCue:
		default:
			return false
		}
	}
	return false
}

// lengthAhead says whether a length follows the foul items[i] or stands right before it.
func (r *storyReader) lengthAhead(i int) bool {
	it := &r.items[i]
	return i+1 < len(r.items) && r.items[i+1].kind == iLength && r.items[i+1].start-it.end <= 3 && !r.sentenceEnd(it.start, r.items[i+1].start)
}

// joined says whether "and", "plus" or a comma stands before items[i].
func (r *storyReader) joined(i int) bool {
	from := r.s.start
	for k := i - 1; k >= 0; k-- {
		if r.items[k].kind != iCue {
			from = r.items[k].end
			break
		}
	}
	to := r.items[i].start
	for k := from; k < to; k++ {
		if r.cue(k, cPlus) || r.q.mark(k, "+") {
			return true
		}
	}
	return r.comma(from, to)
}

// notFoul says whether the foul items[i] is denied: "not a slash".
func (r *storyReader) notFoul(i int) bool {
	if i == 0 {
		return false
	}
	p := &r.items[i-1]
	return p.kind == iCue && p.bits&cNot != 0 && p.bits&cRather == 0 && r.items[i].start-p.end <= 1 && !r.comma(p.end, r.items[i].start)
}

// asksAbout says whether "releasable" is asked, not said.
func (r *storyReader) asksAbout(i int) bool {
	q, at := r.q, r.items[i].start
	for k := at - 1; k >= at-2 && k >= r.s.start; k-- {
		if q.wordAt(k, "whether") || q.wordAt(k, "if") || q.wordAt(k, "si") || q.wordAt(k, "or") || q.wordAt(k, "o") {
			return true
		}
	}
	for _, p := range [...]string{"it", "that", "this", "he", "they"} {
		if q.wordAt(at-1, p) && (q.wordAt(at-2, "is") || q.wordAt(at-2, "was") || q.wordAt(at-2, "are")) {
			return true
		}
	}
	return q.wordAt(at-1, "es") || q.wordAt(r.items[i].end, "or") || q.wordAt(r.items[i].end, "o")
}

// eachBefore says whether "both" or "all" stands shortly before items[i].
func (r *storyReader) eachBefore(i int) bool {
	at := r.items[i].start
	for k := at - 1; k >= at-3 && k >= r.s.start; k-- {
		if r.q.mark(k, ",") {
			return false
		}
		if r.cue(k, cEach) {
			return true
		}
	}
	return r.items[i].bits&cEach != 0
}
