package question

// share gives players who were listed together their foul and length.
func (r *storyReader) share(ds []draft) {
	for k := len(ds) - 1; k >= 0; k-- {
		if !ds[k].empty() {
			continue
		}
		from := -1
		prev := k - 1
		for prev >= 0 && ds[prev].empty() {
			prev--
		}
		listed := prev >= 0 && ds[prev].whoAt > ds[prev].start // "three slashes, #1, #2, #3"
		if k+1 < len(ds) && !ds[k+1].empty() && !listed && ds[k+1].start-ds[k].end <= 4 && !r.sentenceEnd(ds[k].start, ds[k+1].start) {
			from = k + 1
		}
		if from < 0 {
			from = prev
		}
		for j := k + 1; j < len(ds) && from < 0; j++ {
			if !ds[j].empty() {
				from = j
			}
		}
		if from >= 0 {
			d, o := &ds[k], &ds[from]
			d.Foul, d.Technical, d.LengthS, d.Locked, d.hasFoul = o.Foul, o.Technical, o.LengthS, o.Locked, o.hasFoul
			for o.from >= 0 {
				from = o.from
				o = &ds[from]
			}
			d.from = from
		}
	}
	// "a minute each"
	long, n := 0, 0
	for k := range ds {
		if ds[k].LengthS > 0 && ds[k].from < 0 {
			long, n = ds[k].LengthS, n+1
		}
	}
	if n == 1 && len(ds) > 1 {
		for i := range r.items {
			it := &r.items[i]
			if it.kind != iLength || it.n != long || !r.cue(it.end, cEach) && !r.cue(it.end+1, cEach) && !r.eachBefore(i) {
				continue
			}
			for k := range ds {
				if ds[k].LengthS == 0 {
					ds[k].LengthS = long
				}
			}
		}
	}
	if n := len(ds) - 1; n > 0 && ds[n].Who != "" && ds[n].whoAt > ds[n].start && r.cue(ds[n].whoAt-1, cOn) { // "a slash and a trip on #5"
		alone := true
		for k := range ds[:n] {
			alone = alone && ds[k].Who == "" && !ds[k].empty() && ds[k].count == 0
		}
		for k := range ds[:n] {
			if alone {
				ds[k].Who = ds[n].Who
			}
		}
	}
	for k := 1; k < len(ds); k++ { // "#12: slash plus unsportsmanlike"
		if ds[k].Who == "" && ds[k-1].Who != "" {
			ds[k].Who = ds[k-1].Who
			if ds[k].Team == NoTeam {
				ds[k].Team = ds[k-1].Team
			}
		}
	}
}

// teams finds out whose each penalty is.
func (r *storyReader) teams(ds []draft) {
	said := 0
	for i := range r.items {
		it := &r.items[i]
		if it.kind != iTeam || it.used || it.team == NoTeam {
			continue
		}
		next := i + 1
		for next < len(r.items) && r.items[next].kind == iCue {
			next++
		}
		near := func(reach int) bool {
			return next < len(r.items) && r.items[next].start-it.end <= reach && !r.comma(it.end, r.items[next].start)
		}
		strong := it.bits&(cOurs|cTheirs|cA|cB) != 0 || r.cue(it.start-1, cOn)
		switch {
		case it.bits&(cOur|cTheir|cA|cB|cWe|cThey) != 0 && near(3) && r.items[next].kind == iWho && !r.cue(it.start-1, cOn):
			r.setTeam(ds, r.at(ds, r.items[next].start), it)
			said++
		case it.bits&(cOur|cTheir) != 0 && it.bits&(cOurs|cTheirs) == 0:
			if !r.cue(it.end, cPerson) && !r.cue(it.end+1, cPerson) || near(1) && r.items[next].kind == iGoal {
				continue
			}
			if k := r.after(ds, it.start); k >= 0 && ds[k].teamAt < 0 && ds[k].start-it.end <= 6 && !r.cue(it.start-1, cOn) {
				r.setTeam(ds, k, it)
			} else {
				r.setTeam(ds, r.before(ds, it.start), it)
			}
			said++
		case strong:
			k := r.before(ds, it.start)
			if k < 0 {
				k = 0
			}
			if k >= len(ds) {
				continue
			}
			if r.eachBefore(i) || len(ds) > 1 && said == 0 && ds[k].whoAt >= 0 && it.start-ds[k].whoAt > 3 && r.onlyTeam(i) {
				for j := range ds {
					if ds[j].teamAt < 0 {
						r.setTeam(ds, j, it)
					}
				}
			} else if ds[k].teamAt < 0 {
				r.setTeam(ds, k, it)
			}
			said++
		case it.bits&(cWe|cThey) != 0 && r.cue(it.end, cGets) && next < len(r.items) && r.items[next].kind == iWho && r.items[next].start-it.end <= 10 && !r.sentenceEnd(it.start, r.items[next].start):
			r.setTeam(ds, r.at(ds, r.items[next].start), it) // "they have two in the box, #1 …"
			said++
		case it.bits&(cWe|cThey) != 0 && near(5) && (r.items[next].kind == iFoul || r.items[next].kind == iLength):
			gets := false
			for k := it.end; k < r.items[next].start; k++ {
				gets = gets || r.cue(k, cGets)
			}
			if gets {
				r.setTeam(ds, r.at(ds, r.items[next].start), it)
				said++
			}
		}
	}
	for k := range ds {
		if ds[k].Team != NoTeam {
			continue
		}
		for j := range ds {
			if ds[j].Who == ds[k].Who && ds[k].Who != "" && ds[j].Team != NoTeam {
				ds[k].Team = ds[j].Team
			}
		}
		if k > 0 && ds[k].Team == NoTeam {
			ds[k].Team = ds[k-1].Team
		}
	}
	for k := len(ds) - 2; k >= 0; k-- { // who is named beside one of theirs, without more, is ours
		if ds[k].Team == NoTeam && ds[k+1].Team != NoTeam {
			switch ds[k+1].Team {
			case Theirs:
				ds[k].Team = Ours
			default:
				ds[k].Team = ds[k+1].Team
			}
		}
	}
}

// onlyTeam says whether no other team is named for the penalties.
func (r *storyReader) onlyTeam(i int) bool {
	for k := range r.items {
		if it := &r.items[k]; k != i && it.kind == iTeam && !it.used && it.team == r.items[i].team.Other() {
			return false
		}
	}
	return true
}

func (r *storyReader) setTeam(ds []draft, k int, it *item) {
	if k >= 0 && k < len(ds) {
		ds[k].Team, ds[k].teamAt = it.team, it.start
	}
}

// at is the penalty that a token is part of; before and after are the nearest.
func (r *storyReader) at(ds []draft, i int) int {
	for k := range ds {
		if ds[k].start <= i && i < ds[k].end || ds[k].whoAt == i {
			return k
		}
	}
	return r.after(ds, i)
}

func (r *storyReader) before(ds []draft, i int) int {
	best := -1
	for k := range ds {
		if ds[k].start < i {
			best = k
		}
	}
	return best
}

func (r *storyReader) after(ds []draft, i int) int {
	for k := range ds {
		if ds[k].start >= i {
			return k
		}
	}
	return -1
}

// restarts gives each penalty the clock of its restart.
func (r *storyReader) restarts(ds []draft) {
	var buf [16]int
	cs := buf[:0]
	for pass := range 2 { // a clock at which he is said to be back counts only if there is no other
		for i := range r.items {
			c := &r.items[i]
			if c.kind != iClock || c.used || c.bits&cLater != 0 || pass == 0 && r.isOut(c) {
				continue
			}
			cs = append(cs, i)
		}
		if len(cs) > 0 {
			break
		}
	}
	period := noPeriod
	for i := range r.items {
		if it := &r.items[i]; it.kind == iPeriod && !it.used {
			period = it.n
			break
		}
	}
	if len(cs) == 0 {
		for k := range ds {
			ds[k].Period = period
		}
		if len(ds) == 0 && period != noPeriod {
			r.out.Penalties = append(r.out.Penalties, Told{Clock: NoClock, Period: period})
		}
		return
	}
	if len(ds) == 0 {
		c := &r.items[r.best(cs)]
		r.out.Penalties = append(r.out.Penalties, Told{Clock: c.n, Period: c.period})
		return
	}
	if len(ds) == 1 {
		c := &r.items[r.best(cs)]
		ds[0].Clock, ds[0].Period = c.n, c.period
		return
	}
	prefix := r.items[cs[0]].start < ds[0].start
	for k := range ds {
		d := &ds[k]
		pick := -1
		for _, i := range cs {
			c := &r.items[i]
			switch {
			case prefix && c.start < d.start:
				pick = i
			case !prefix && c.start > d.start && pick < 0:
				pick = i
			}
		}
		if pick < 0 && prefix {
			pick = cs[0]
		} else if pick < 0 {
			pick = cs[len(cs)-1]
		}
		d.Clock, d.Period = r.items[pick].n, r.items[pick].period
		if d.from >= 0 && d.from < k {
			d.Clock, d.Period = ds[d.from].Clock, ds[d.from].Period
		}
	}
}

// isOut says whether the clock is said to be that of a release: "back at 2:20".
func (r *storyReader) isOut(c *item) bool {
	for k := c.start - 1; k >= c.start-2 && k >= r.s.start; k-- {
		if r.cue(k, cOut) {
			return true
		}
		if !r.cue(k, cAt) {
			return false
		}
	}
	return false
}

// best is the clock that most looks like a restart's, the first of equals.
func (r *storyReader) best(cs []int) int {
	best, top := cs[0], -1
	for _, i := range cs {
		c := &r.items[i]
		score := 0
		if c.own {
			score += 2
		}
		if c.noted || r.cue(c.end, cLeft) {
			score++
		}
		if r.cue(c.start-1, cAt|cFrom) || r.q.mark(c.start-1, "@") {
			score++
		}
		if score > top {
			best, top = i, score
		}
	}
	return best
}

// multiply writes the penalties out: "four technicals" are four.
func (r *storyReader) multiply(ds []draft) {
	if len(ds) == 0 {
		return
	}
	out := make([]Told, 0, len(ds)+2)
	for k := range ds {
		d := &ds[k]
		if d.empty() && d.Who == "" && d.Locked == Unsaid {
			continue
		}
		out = append(out, d.Told)
		group, last := 0, true
		from := k
		if d.from >= 0 {
			from = d.from
		}
		for j := range ds {
			if j == from || ds[j].from == from {
				group++
				last = j <= k
			}
		}
		for n := ds[from].count; last && group < n; group++ { // those without a number come after the others
			t := d.Told
			t.Who = ""
			out = append(out, t)
		}
	}
	if len(out) == 1 && r.bothTeams() {
		out = append(out, out[0])
		out[0].Team, out[1].Team = Ours, Theirs
	} else if len(out) == 2 && out[0].Team == NoTeam && out[1].Team == NoTeam && r.bothTeams() {
		out[0].Team, out[1].Team = Ours, Theirs
	}
	r.out.Penalties = out
}

// bothTeams says whether "both teams" got the penalty.
func (r *storyReader) bothTeams() bool {
	for i := range r.items {
		if it := &r.items[i]; it.kind == iCue && it.bits&cBoth != 0 {
			return true
		}
	}
	return false
}
