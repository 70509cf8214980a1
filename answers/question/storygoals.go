package question

// goals finds the goals, whose they are and their clocks.
func (r *storyReader) goals() {
	for i := range r.items {
		g := &r.items[i]
		if g.kind != iGoal {
			continue
		}
		g.used = true
		if r.denied(i) || r.standing(i) {
			continue
		}
		sc := Scored{By: r.scorer(i), Clock: NoClock, Past: g.bits&cPast != 0 && !r.cond(i)}
		c := r.goalClock(i)
		if c < 0 {
			if n := len(r.out.Goals); n > 0 && r.out.Goals[n-1].By == NoTeam && sc.By != NoTeam && r.tells(i) { // "the goal was against us"
				r.out.Goals[n-1].By = sc.By
				continue
			}
			if n := len(r.out.Goals); n > 0 && r.out.Goals[n-1].Clock != NoClock && !r.cond(i) {
				continue // the same goal again: "does the goal let him out"
			}
			r.out.Goals = append(r.out.Goals, sc)
			continue
		}
		for {
			it := &r.items[c]
			it.used = true
			one := sc
			if it.bits&cLater != 0 {
				one.AfterS = it.n
			} else {
				one.Clock, one.Period = it.n, it.period
				if !it.own {
					one.Period = -it.period // inherited: may be the next one
				}
			}
			r.out.Goals = append(r.out.Goals, one)
			next := r.moreClocks(c)
			if next < 0 {
				break
			}
			c = next
		}
	}
}

// standing says whether a "score" is the game's: "score 5-4", "the score is".
func (r *storyReader) standing(i int) bool {
	q, g := r.q, &r.items[i]
	if !q.wordAt(g.start, "score") && !q.wordAt(g.start, "goals") && !q.wordAt(g.start, "goles") {
		return false
	}
	for k := range q.Quantities {
		if u := &q.Quantities[k]; u.Kind == Pair && u.start == g.end || u.Kind == Bare && u.end == g.start && r.tells(i) {
			return true
		}
	}
	return q.wordAt(g.start-1, "the") || q.wordAt(g.end, "is") || q.wordAt(g.end, "was")
}

// denied says whether the goal did not happen.
func (r *storyReader) denied(i int) bool {
	g := &r.items[i]
	for k := i - 1; k >= 0 && k >= i-2; k-- {
		if it := &r.items[k]; it.bits&cNot != 0 && it.kind == iCue && g.start-it.end <= 2 && !r.comma(it.end, g.start) {
			return true
		}
	}
	for k := i + 1; k < len(r.items) && k <= i+4; k++ {
		if it := &r.items[k]; it.bits&cCancel != 0 && !r.sentenceEnd(g.end-1, it.start) {
			return true
		}
	}
	return false
}

// cond says whether the goal is a "what if".
func (r *storyReader) cond(i int) bool {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if it := &r.items[k]; it.kind == iCue && it.bits&cIf != 0 && r.items[i].start-it.end <= 5 {
			return true
		}
	}
	return false
}

// tells says whether a goal is only spoken about: no clock stands after it.
func (r *storyReader) tells(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		if r.items[k].kind == iClock && !r.items[k].used {
			return false
		}
	}
	return true
}

// scorer says whose goal items[i] is.
func (r *storyReader) scorer(i int) Team {
	g := &r.items[i]
	passive := g.bits&cPassive != 0
	if g.team != NoTeam && !passive {
		return g.team
	}
	if !passive {
		// "goal by them", "goal against us", "scored on us"
		for k := i + 1; k < len(r.items) && k <= i+3; k++ {
			it := &r.items[k]
			if it.kind == iCue {
				continue
			}
			if it.kind != iTeam || it.start-g.end > 4 || r.comma(g.end, it.start) {
				break
			}
			if on := r.cue(it.start-1, cOn) && !r.cue(it.start-1, cBy); on {
				return it.team.Other()
			}
			if r.cue(it.start-1, cBy) || r.q.wordAt(it.start-1, "for") || r.q.wordAt(it.start-1, "from") || r.q.wordAt(it.start-1, "para") || it.bits&(cOurs|cTheirs) != 0 {
				return it.team
			}
			if r.q.wordAt(it.start-1, "was") || r.q.wordAt(it.start-1, "is") || r.q.wordAt(it.start-1, "fue") {
				return it.team
			}
			break
		}
	}
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		it := &r.items[k]
		if it.kind == iCue {
			continue
		}
		if it.kind != iTeam || g.start-it.end > 4 || r.sentenceEnd(it.start, g.start) || r.comma(it.end, g.start) {
			break
		}
		it.used = true
		if passive {
			return it.team.Other()
		}
		return it.team
	}
	if passive { // "got scored on at 7:25"
		return Theirs
	}
	if r.cue(g.start-1, cPlus) { // "they got a slash and scored"
		for k := i - 1; k >= 0 && !r.sentenceEnd(r.items[k].start, g.start); k-- {
			if it := &r.items[k]; it.kind == iTeam && it.bits&(cWe|cThey) != 0 {
				return it.team
			}
		}
	}
	if r.q.Lang == "es" && g.bits&cPast == 0 && !r.nounGoal(g) || r.q.Lang == "es" && !r.nounGoal(g) { // "anotan": they
		return Theirs
	}
	return NoTeam
}

func (r *storyReader) nounGoal(g *item) bool {
	return g.end == g.start+1 && (r.q.wordAt(g.start, "gol") || r.q.wordAt(g.start, "goles") || r.q.wordAt(g.start, "goal") || r.q.wordAt(g.start, "goals"))
}

// goalClock finds the clock of a goal: the next one, or one just before it.
func (r *storyReader) goalClock(i int) int {
	g := &r.items[i]
	after := -1
	for k := i + 1; k < len(r.items); k++ {
		it := &r.items[k]
		if it.kind == iClock && !it.used {
			if !r.restartAt(it) && (g.bits&cSoft == 0 || r.otherRestart(k)) {
				after = k
			}
			break
		}
		if it.kind == iFoul || it.kind == iWho || it.kind == iGoal || it.kind == iLength || it.kind == iCue && it.bits&cOut != 0 {
			break
		}
	}
	if after >= 0 && r.sentenceEnd(g.end-1, r.items[after].start) && !r.clockAlone(after) {
		after = -1
	}
	before := -1
	for k := i - 1; k >= 0; k-- {
		it := &r.items[k]
		if it.kind == iClock {
			if !it.used && g.start-it.end <= 6 && !r.comma(it.end, g.start) && !r.restartAt(it) {
				before = k
			}
			break
		}
		if it.kind != iTeam && it.kind != iCue && it.kind != iPeriod {
			break
		}
	}
	if after >= 0 && before >= 0 {
		// "at 7:25 they scored and at 6:50 we scored"
		for k := after + 1; k < len(r.items); k++ {
			it := &r.items[k]
			if it.kind == iGoal && it.start-r.items[after].end <= 5 && !r.comma(r.items[after].end, it.start) && r.otherRestart(before) {
				return before
			}
			if it.kind != iTeam && it.kind != iCue {
				break
			}
		}
	}
	if after >= 0 {
		return after
	}
	if before >= 0 && r.otherRestart(before) {
		return before
	}
	return -1
}

// restartAt says whether the clock is said to be a restart's: "from 8:00",
// "play restarts at 4:10".
func (r *storyReader) restartAt(c *item) bool {
	return r.cue(c.start-1, cFrom) || r.cue(c.start-1, cAt) && r.cue(c.start-2, cFrom)
}

// otherRestart says whether a clock other than items[k] is there for the fouls,
// or no foul at all.
func (r *storyReader) otherRestart(k int) bool {
	foul := false
	for i := range r.items {
		it := &r.items[i]
		if it.kind == iClock && i != k && !it.used {
			return true
		}
		foul = foul || it.kind == iFoul || it.kind == iLength || it.kind == iWho
	}
	return !foul
}

// moreClocks finds a further goal by the same side: "at 9:20 and at 8:40".
func (r *storyReader) moreClocks(c int) int {
	for k := c + 1; k < len(r.items); k++ {
		it := &r.items[k]
		switch {
		case it.kind == iClock && !it.used:
			if r.sentenceEnd(r.items[c].end-1, it.start) || it.start-r.items[c].end > 6 || r.restartAt(it) || it.bits&cLater != 0 {
				return -1
			}
			// another goal's own clock stands before it
			for j := k + 1; j < len(r.items); j++ {
				if r.items[j].kind == iGoal && r.items[j].start-it.end <= 5 && !r.comma(it.end, r.items[j].start) && !r.clockAfter(j) {
					return -1
				}
				if r.items[j].kind != iTeam && r.items[j].kind != iCue && r.items[j].kind != iPeriod {
					break
				}
			}
			return k
		case it.kind == iCue && it.bits&cOut == 0, it.kind == iPeriod:
		default:
			return -1
		}
	}
	return -1
}

func (r *storyReader) clockAfter(i int) bool {
	for k := i + 1; k < len(r.items); k++ {
		switch it := &r.items[k]; it.kind {
		case iClock:
			return it.start-r.items[i].end <= 5
		case iTeam, iCue:
		default:
			return false
		}
	}
	return false
}

// lengths drops what is said of time and is no penalty's length.
func (r *storyReader) lengths() {
	for i := range r.items {
		it := &r.items[i]
		if it.kind == iLength && i > 0 && r.items[i-1].kind == iClock && r.items[i-1].used && r.q.wordAt(it.end, "after") {
			it.used = true
		}
	}
}

// clockAlone says whether a clock stands alone behind the only goal that is told:
// "they just scored. 7:31".
func (r *storyReader) clockAlone(c int) bool {
	for i := range r.items {
		if it := &r.items[i]; i != c && (it.kind == iClock || it.kind == iFoul || it.kind == iLength) {
			return false
		}
	}
	return r.items[c].end >= len(r.q.toks)-1
}
