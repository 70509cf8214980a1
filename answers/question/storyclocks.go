package question

// sentenceEnd says whether a sentence ends between tokens a and b.
func (r *storyReader) sentenceEnd(a, b int) bool {
	return a < b && a >= 0 && b < len(r.q.toks) && r.q.toks[a].sent != r.q.toks[b].sent
}

func (r *storyReader) comma(a, b int) bool {
	for i := a; i < b; i++ {
		if r.q.mark(i, ",") || r.q.mark(i, ";") || r.q.mark(i, ".") || r.q.mark(i, "?") || r.q.mark(i, ":") {
			return true
		}
	}
	return false
}

// lengthsFirst takes "1:00" for a length where it stands like one.
func (r *storyReader) lengthsFirst() {
	clocks, periods := 0, 0
	for i := range r.items {
		switch r.items[i].kind {
		case iClock:
			clocks++
		case iPeriod:
			periods++
		}
	}
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iClock || it.noted || it.bits&cLater != 0 || it.n <= 0 || it.n > longestTold/2 || it.n%30 != 0 {
			continue
		}
		if r.cue(it.start-1, cAt|cFrom|cLeft) && !r.q.wordAt(it.start-1, "of") || r.cue(it.end, cLeft) || r.q.mark(it.start-1, "@") {
			continue
		}
		if i+1 < len(r.items) && r.items[i+1].kind == iPeriod && r.items[i+1].start-it.end <= 3 && !r.comma(it.end, r.items[i+1].start) {
			continue
		}
		after := i+1 < len(r.items) && r.penal(&r.items[i+1]) && r.items[i+1].start-it.end <= 3 && !r.comma(it.end, r.items[i+1].start)
		behind := i > 0 && r.penal(&r.items[i-1]) && it.start-r.items[i-1].end <= 1 && !r.comma(r.items[i-1].end, it.start)
		if after && (clocks > 1 || periods == 0) || behind && clocks > 1 && !r.lengthNear(i) {
			it.kind = iLength
			clocks--
		}
	}
}

func (r *storyReader) penal(it *item) bool {
	return it.kind == iFoul || it.kind == iLocked || it.kind == iCue && it.bits&cPenalty != 0
}

// lengthNear says whether the foul before the clock items[i] has its length already.
func (r *storyReader) lengthNear(i int) bool {
	if r.joined(i - 1) {
		return false
	}
	for k := i - 1; k >= 0; k-- {
		switch r.items[k].kind {
		case iLength:
			return true
		case iWho, iClock:
			return false
		}
	}
	return false
}

// clockPeriods gives clocks the periods that stand beside them, and the others
// the one said before.
func (r *storyReader) clockPeriods() {
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iPeriod {
			continue
		}
		// "we go to overtime", "when is he back in the third" is not when it was
		for k := i - 1; k >= 0 && it.start-r.items[k].end <= 2; k-- {
			if b := r.items[k].bits; b&(cGoto|cOut) != 0 && r.items[k].kind == iCue && !(r.items[k].bits&cOut == 0 && r.q.wordAt(r.items[k].start, "to") && k > 0 && r.items[k-1].kind == iClock) {
				it.used = true
			}
		}
	}
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock {
			continue
		}
		for k := i + 1; k < len(r.items); k++ {
			p := &r.items[k]
			if p.kind == iCue && p.bits&(cOut|cGoto) == 0 {
				continue
			}
			if p.kind == iPeriod && !p.used && p.start-c.end <= 5 && !r.sentenceEnd(c.end-1, p.start) && (!r.comma(c.end, p.start) || !r.nextIsClock(k)) {
				c.period, c.own, c.noted, p.used = p.n, true, true, true
			}
			break
		}
	}
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock || c.own {
			continue
		}
		for k := i - 1; k >= 0; k-- {
			p := &r.items[k]
			if p.kind == iCue {
				continue
			}
			if p.kind == iPeriod && !p.used && c.start-p.end <= 5 {
				c.period, c.own, p.used = p.n, true, true
				c.noted = c.noted || c.start-p.end <= 2
			}
			break
		}
	}
	first := noPeriod
	for i := range r.items {
		if r.items[i].kind == iPeriod && (!r.items[i].used || r.ownedBy(i)) {
			first = r.items[i].n
			break
		}
	}
	now := first
	for i := range r.items {
		c := &r.items[i]
		if c.kind != iClock {
			continue
		}
		if c.own {
			now = c.period
		} else {
			c.period = now
		}
	}
}

// nextIsClock says whether the period items[k] goes better with a clock after it.
func (r *storyReader) nextIsClock(k int) bool {
	return k+1 < len(r.items) && r.items[k+1].kind == iClock && r.items[k+1].start-r.items[k].end <= 3
}

// ownedBy says whether a clock took the period.
func (r *storyReader) ownedBy(k int) bool {
	for i := range r.items {
		if c := &r.items[i]; c.kind == iClock && c.own && c.period == r.items[k].n {
			return true
		}
	}
	return false
}
